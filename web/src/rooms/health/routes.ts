import { paths } from "../../app/paths.ts";
import type { NavigationEntry, Route } from "../../app/route.ts";

export const routes: Route[] = [
  { path: paths.health, place: "desk", open: true, screen: () => import("./Health.tsx") },
];

export const navigation: NavigationEntry[] = [
  {
    to: paths.health,
    words: "Health",
    question: "Is everything fresh and reached?",
    rank: 910,
    for: "everyone",
  },
];

import { paths } from "../../app/paths.ts";
import type { NavigationEntry, Route } from "../../app/route.ts";

export const routes: Route[] = [
  { path: paths.settings, place: "desk", open: true, screen: () => import("./Settings.tsx") },
];

export const navigation: NavigationEntry[] = [
  {
    to: paths.settings,
    words: "Units and light",
    question: "How should numbers, light and sound be here?",
    rank: 900,
    for: "everyone",
  },
];

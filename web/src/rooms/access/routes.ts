import { paths } from "../../app/paths.ts";
import type { NavigationEntry, Route } from "../../app/route.ts";

export const routes: Route[] = [
  { path: paths.signIn, place: "desk", open: true, screen: () => import("./SignIn.tsx") },
  { path: paths.firstPerson, place: "desk", open: true, screen: () => import("./FirstPerson.tsx") },
];
export const navigation: NavigationEntry[] = [];

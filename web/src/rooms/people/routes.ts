import { paths } from "../../app/paths.ts";
import { type NavigationEntry, type Route, roles } from "../../app/route.ts";

export const routes: Route[] = [{ path: paths.people, place: "desk", screen: () => import("./People.tsx") }];

export const navigation: NavigationEntry[] = [
  { to: paths.people, words: "People", question: "Who may do what?", rank: 190, for: roles.approvers },
];

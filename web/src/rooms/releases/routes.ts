import { paths } from "../../app/paths.ts";
import { type NavigationEntry, type Route, roles } from "../../app/route.ts";
import { Role } from "../../proto/evenpeel/access/v1/access_service_pb.ts";

export const routes: Route[] = [
  { path: paths.releases, place: "desk", screen: () => import("./Releases.tsx") },
  { path: paths.newRelease, place: "desk", screen: () => import("./NewRelease.tsx") },
  { path: "/releases/:number", place: "desk", screen: () => import("./Release.tsx") },
  { path: paths.reach, place: "desk", screen: () => import("./ReachScreen.tsx") },
  { path: paths.past, place: "desk", screen: () => import("./Past.tsx") },
  { path: paths.acts, place: "desk", screen: () => import("./Acts.tsx") },
];

export const navigation: NavigationEntry[] = [
  {
    to: paths.releases,
    words: "Releases",
    question: "What was put in force, where and when?",
    rank: 120,
    for: roles.office,
  },
  {
    to: paths.reach,
    words: "Reach",
    question: "Which branch holds which release?",
    rank: 130,
    for: [...roles.office, Role.FRANCHISE_MANAGER, Role.BRANCH_MANAGER],
  },
  {
    to: paths.past,
    words: "Past",
    question: "What did a branch have in force, and when?",
    rank: 135,
    for: [...roles.office, Role.FRANCHISE_MANAGER, Role.BRANCH_MANAGER],
  },
];

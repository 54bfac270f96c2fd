import { paths } from "../../app/paths.ts";
import { type NavigationEntry, type Route, roles } from "../../app/route.ts";
import { Role } from "../../proto/evenpeel/access/v1/access_service_pb.ts";

export const routes: Route[] = [
  { path: paths.fairView, place: "desk", screen: () => import("./FairView.tsx") },
  { path: "/compare/branches/:branch", place: "desk", screen: () => import("./Branch.tsx") },
  { path: "/compare/branches/:branch/pack", place: "desk", screen: () => import("./Pack.tsx") },
  { path: paths.filmLoss, place: "desk", screen: () => import("./Film.tsx") },
  { path: "/compare/film/:film", place: "desk", screen: () => import("./OneFilm.tsx") },
  { path: paths.charts, place: "desk", screen: () => import("./Charts.tsx") },
  { path: paths.causes, place: "desk", screen: () => import("./Causes.tsx") },
  { path: paths.changes, place: "desk", screen: () => import("./Changes.tsx") },
  { path: "/compare/trials/:release", place: "desk", screen: () => import("./Trial.tsx") },
  { path: paths.costs, place: "desk", screen: () => import("./Costs.tsx") },
  { path: paths.methods, place: "desk", screen: () => import("./Methods.tsx") },
];

/** franchise is who sees every branch by name; a branch manager does not. */
const franchise = roles.managers.filter((role) => role !== Role.BRANCH_MANAGER);

export const navigation: NavigationEntry[] = [
  {
    to: paths.fairView,
    words: "Fair view",
    question: "Which branches differ by more than chance?",
    rank: 300,
    for: roles.managers,
  },
  {
    to: paths.filmLoss,
    words: "Film use",
    question: "Where does the film go?",
    rank: 310,
    for: roles.managers,
  },
  {
    to: paths.charts,
    words: "Over time",
    question: "Who changed, and when?",
    rank: 305,
    for: franchise,
  },
  {
    to: paths.causes,
    words: "Causes",
    question: "What goes together with reprints?",
    rank: 315,
    for: franchise,
  },
  { to: paths.changes, words: "Changes", question: "Did a change help?", rank: 320, for: franchise },
  { to: paths.costs, words: "Costs", question: "What do losses cost?", rank: 330, for: franchise },
];

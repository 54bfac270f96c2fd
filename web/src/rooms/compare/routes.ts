import { paths } from "../../app/paths.ts";
import { type NavigationEntry, type Route, roles } from "../../app/route.ts";
import { Role } from "../../proto/evenpeel/access/v1/access_service_pb.ts";

export const routes: Route[] = [
  { path: paths.fairView, place: "desk", screen: () => import("./FairView.tsx") },
  { path: "/compare/branches/:branch", place: "desk", screen: () => import("./Branch.tsx") },
  { path: paths.filmLoss, place: "desk", screen: () => import("./Film.tsx") },
  { path: paths.causes, place: "desk", screen: () => import("./Causes.tsx") },
];

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
    to: paths.causes,
    words: "Changes",
    question: "Did a change help?",
    rank: 320,
    for: roles.managers.filter((role) => role !== Role.BRANCH_MANAGER),
  },
];

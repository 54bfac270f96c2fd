import { paths } from "../../app/paths.ts";
import { type NavigationEntry, type Route, roles } from "../../app/route.ts";
import { Role } from "../../proto/evenpeel/access/v1/access_service_pb.ts";

export const routes: Route[] = [{ path: paths.papers, place: "desk", screen: () => import("./Papers.tsx") }];

export const navigation: NavigationEntry[] = [
  {
    to: paths.papers,
    words: "Papers",
    question: "Which papers hold, and which end soon?",
    rank: 150,
    for: [...roles.office, Role.BRANCH_MANAGER],
  },
];

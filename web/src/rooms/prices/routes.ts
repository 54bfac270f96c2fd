import { paths } from "../../app/paths.ts";
import { type NavigationEntry, type Route, roles } from "../../app/route.ts";
import { Role } from "../../proto/evenpeel/access/v1/access_service_pb.ts";

export const routes: Route[] = [
  { path: paths.prices, place: "desk", screen: () => import("./Prices.tsx") },
  { path: "/prices/:list", place: "desk", screen: () => import("./PriceListScreen.tsx") },
];

export const navigation: NavigationEntry[] = [
  {
    to: paths.prices,
    words: "Prices",
    question: "What do the price lists ask?",
    rank: 140,
    for: [...roles.office, Role.BRANCH_MANAGER],
  },
];

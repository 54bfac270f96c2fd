import { paths } from "../../app/paths.ts";
import { type NavigationEntry, type Route, roles } from "../../app/route.ts";
import { cardsPath } from "./addresses.ts";

export const routes: Route[] = [
  { path: paths.bench, place: "bench", screen: () => import("./Bench.tsx") },
  { path: cardsPath, place: "bench", screen: () => import("./Cards.tsx") },
  { path: "/bench/cards/:recipe", place: "bench", screen: () => import("./CardScreen.tsx") },
  { path: paths.newPlan, place: "bench", screen: () => import("./NewPlan.tsx") },
  { path: "/bench/plans/:order", place: "bench", screen: () => import("./KeptPlan.tsx") },
  { path: "/bench/plans/:order/steps", place: "bench", screen: () => import("./Steps.tsx") },
  { path: "/bench/plans/:order/outcome", place: "bench", screen: () => import("./Outcome.tsx") },
  { path: paths.waiting, place: "bench", screen: () => import("./Waiting.tsx") },
  { path: "/bench/runs/:run", place: "bench", screen: () => import("./CorrectRun.tsx") },
  { path: paths.stock, place: "bench", screen: () => import("./Stock.tsx") },
  { path: paths.machines, place: "desk", screen: () => import("./Machines.tsx") },
];

export const navigation: NavigationEntry[] = [
  { to: paths.bench, words: "Bench", question: "What is to be done now?", rank: 200, for: roles.bench },
  { to: cardsPath, words: "Cards", question: "What do I dial on our machines?", rank: 210, for: roles.bench },
  {
    to: paths.newPlan,
    words: "New plan",
    question: "How does it lie on the roll, and how much film does it take?",
    rank: 220,
    for: roles.bench,
  },
  { to: paths.waiting, words: "Waiting", question: "What is not yet sent?", rank: 230, for: roles.bench },
  { to: paths.stock, words: "Stock", question: "Which film do we have?", rank: 240, for: roles.bench },
  {
    to: paths.machines,
    words: "Machines",
    question: "What do our machines' dials really give?",
    rank: 250,
    for: roles.bench,
  },
];

import { paths } from "../../app/paths.ts";
import { type NavigationEntry, type Route, roles } from "../../app/route.ts";

const olderSides = () => import("./SideBySide.tsx").then(({ RecipeSides }) => ({ default: RecipeSides }));

export const routes: Route[] = [
  { path: paths.recipes, place: "desk", screen: () => import("./Recipes.tsx") },
  { path: "/recipes/:recipe", place: "desk", screen: () => import("./Recipe.tsx") },
  { path: "/recipes/:recipe/revisions/:number", place: "desk", screen: () => import("./Recipe.tsx") },
  { path: "/side-by-side", place: "desk", screen: () => import("./SideBySide.tsx") },
  { path: "/recipes/:recipe/compare/:left/:right", place: "desk", screen: olderSides },
  { path: "/drafts/:draft", place: "desk", screen: () => import("./Draft.tsx") },
  { path: paths.secondLooks, place: "desk", screen: () => import("./SecondLooks.tsx") },
  { path: "/second-looks/:draft", place: "desk", screen: () => import("./SecondLook.tsx") },
];

export const navigation: NavigationEntry[] = [
  {
    to: paths.recipes,
    words: "Recipes",
    question: "Which recipes are there, and which are in force?",
    rank: 100,
    for: roles.office,
  },
  {
    to: paths.secondLooks,
    words: "Second looks",
    question: "What waits for a second look?",
    rank: 110,
    for: roles.office,
  },
];

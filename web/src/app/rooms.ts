// Finds the screens of every room: a new folder in rooms/ with a routes.ts is on the map without any edit here.
import { type ComponentType, type LazyExoticComponent, lazy } from "react";
import type { NavigationEntry, RoomRoutes, Route } from "./route.ts";

const found = import.meta.glob<RoomRoutes>("../rooms/*/routes.ts", { eager: true });

export type Screen = Route & { component: LazyExoticComponent<ComponentType> };

// A pattern with fewer variable parts goes first, so that "/releases/new" is not taken for a release called "new".
const variables = (route: Route) => route.path.split("/").filter((part) => part.startsWith(":")).length;

export const screens: readonly Screen[] = Object.values(found)
  .flatMap((room) => room.routes)
  .toSorted((a, b) => variables(a) - variables(b) || a.path.localeCompare(b.path))
  .map((route) => ({ ...route, component: lazy(route.screen) }));

export const navigation: readonly NavigationEntry[] = Object.values(found)
  .flatMap((room) => room.navigation)
  .toSorted((a, b) => a.rank - b.rank);

// What a room tells the app about its screens. Each room exports it from rooms/<room>/routes.ts; the app finds it there.
import type { ComponentType } from "react";
import { Role } from "../proto/evenpeel/access/v1/access_service_pb.ts";

export type Route = {
  /** Pattern as in paths.ts, with ":name" parts; read them with useParams of wouter. */
  path: string;
  /** Loads the screen, which is the default export of its file. */
  screen: () => Promise<{ default: ComponentType }>;
  /** "bench" makes targets 20 mm and figures large. */
  place: "desk" | "bench";
  /** Seen without signing in. */
  open?: boolean;
};

export type NavigationEntry = {
  to: string;
  words: string;
  /** What the screen answers; shown on Start and in Find. */
  question: string;
  /** Order in the navigation: office 100–199, bench 200–299, managers 300–399, everyone 900–. */
  rank: number;
  /** Who needs it. "everyone" entries stand in the person menu instead of the row. */
  for: readonly Role[] | "everyone";
};

export type RoomRoutes = { routes: readonly Route[]; navigation: readonly NavigationEntry[] };

const office = [Role.OFFICE_EDITOR, Role.OFFICE_APPROVER] as const;
const managers = [Role.BRANCH_MANAGER, Role.FRANCHISE_MANAGER] as const;

/** Usual groups of roles. */
export const roles = {
  office: [...office, Role.AUDITOR],
  approvers: [Role.OFFICE_APPROVER, Role.AUDITOR],
  bench: [Role.BRANCH_OPERATOR, Role.BRANCH_MANAGER],
  managers: [...managers, ...office, Role.AUDITOR],
  all: [...office, Role.BRANCH_OPERATOR, ...managers, Role.AUDITOR],
} as const;

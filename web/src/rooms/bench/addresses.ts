import { paths } from "../../app/paths.ts";

/** Address of the list of cards. */
export const cardsPath = `${paths.bench}/cards`;

/** orderName gives "branches/hall/orders/{id}" for the id in an address. */
export const orderName = (branch: string, id: string): string => `${branch}/orders/${id}`;

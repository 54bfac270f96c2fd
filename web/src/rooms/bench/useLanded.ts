import {
  type LandDesignResponse,
  type Order,
  OrdersService,
  type Plan,
} from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import { designsOf, kindOf, noKind, placeName } from "./places.ts";
import { type Answer, useSaved } from "./saved.ts";

export type Landed = {
  answer: Answer<LandDesignResponse>;
  /** Whether there is anything to ask: a cut of garment that the table may know, a place and a size. */
  enabled: boolean;
  /** The size in hand. */
  size: string;
};

/** useLanded asks where a kept order's design goes, for all of its sizes at once, so that the bench can go offline. */
export function useLanded(order: Order, plan: Plan): Omit<Landed, "size"> {
  const garmentKind = kindOf(order);
  const place = placeName(order.lines[0]?.placement ?? "");
  const designs = designsOf(plan);
  const branch = order.name.split("/").slice(0, 2).join("/");
  const enabled = garmentKind !== "" && garmentKind !== noKind && place !== "" && designs.length > 0;
  const answer = useSaved(
    OrdersService.method.landDesign,
    { branch, garmentKind, place, designs },
    `landing:${order.name}`,
    enabled,
  );
  // A place or a cut that the table does not have leaves nothing to draw.
  const known =
    answer.data === undefined || (answer.data.place !== undefined && answer.data.garmentTitle !== "");
  return { answer, enabled: enabled && known };
}

import { toJsonString } from "@bufbuild/protobuf";
import { useQuery } from "@connectrpc/connect-query";
import { keepPreviousData } from "@tanstack/react-query";
import { useEffect, useState } from "react";
import { type Order, OrderSchema, OrdersService } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import { keepOf, type Step } from "./holding.ts";

const pauseMs = 400; // a plan is asked for when the hand rests, not at every touch

/** orderKey stands for an order, which is made anew at every touch. Where it goes on the garment changes no layout. */
export function orderKey(order: Order | null): string {
  if (!order) return "";
  const lines = order.lines.map((line) => ({ ...line, placement: "", garmentKind: "" }));
  return toJsonString(OrderSchema, { ...order, lines });
}

type Asked = { key: string; order: Order | null; step: Step };

/**
 * usePlanned works out an order while it is being put together, with the layouts that are held for it; null asks for
 * nothing.
 */
export function usePlanned(branch: string, order: Order | null, step: Step) {
  const key = orderKey(order);
  const [rested, setRested] = useState<Asked>({ key: "", order: null, step });
  useEffect(() => {
    const timer = setTimeout(() => setRested({ key, order, step }), pauseMs);
    return () => clearTimeout(timer);
    // the key stands for the order
  }, [key, step]);
  const query = useQuery(
    OrdersService.method.planOrder,
    rested.order ? { branch, order: rested.order, keep: keepOf(rested.step) } : { branch },
    { enabled: rested.order !== null, placeholderData: keepPreviousData },
  );
  return {
    plan: rested.order && order ? query.data?.plan : undefined,
    error: rested.order && order ? query.error : null,
    /** What is shown is for an earlier order, or for a layout that is not held any more. */
    behind: rested.key !== key || rested.step !== step || query.isPlaceholderData || query.isFetching,
    retry: () => void query.refetch(),
  };
}

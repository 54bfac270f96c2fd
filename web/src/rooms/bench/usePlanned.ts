import { toJsonString } from "@bufbuild/protobuf";
import { useQuery } from "@connectrpc/connect-query";
import { keepPreviousData } from "@tanstack/react-query";
import { useEffect, useState } from "react";
import { type Order, OrderSchema, OrdersService } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";

const pauseMs = 400; // a plan is asked for when the hand rests, not at every touch

/** usePlanned works out an order while it is being put together; null asks for nothing. */
export function usePlanned(branch: string, order: Order | null) {
  const key = order ? toJsonString(OrderSchema, order) : "";
  const [rested, setRested] = useState<{ key: string; order: Order | null }>({ key: "", order: null });
  // the key stands for the order, which is made anew each time
  useEffect(() => {
    const timer = setTimeout(() => setRested({ key, order }), pauseMs);
    return () => clearTimeout(timer);
  }, [key]);
  const query = useQuery(
    OrdersService.method.planOrder,
    rested.order ? { branch, order: rested.order } : { branch },
    { enabled: rested.order !== null, placeholderData: keepPreviousData },
  );
  return {
    plan: rested.order && order ? query.data?.plan : undefined,
    error: rested.order && order ? query.error : null,
    /** What is shown is for an earlier order. */
    behind: rested.key !== key || query.isPlaceholderData || query.isFetching,
    retry: () => void query.refetch(),
  };
}

import { createGrpcWebTransport } from "@connectrpc/connect-web";

/** transport carries every call of the page: gRPC-Web, same origin, the session in a cookie that scripts can not read. */
export const transport = createGrpcWebTransport({
  baseUrl: window.location.origin,
  fetch: (input, init) => fetch(input, { ...init, credentials: "same-origin" }),
});

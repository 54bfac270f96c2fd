import { Code, ConnectError, createRouterTransport } from "@connectrpc/connect";
import { TransportProvider } from "@connectrpc/connect-query";
import { QueryClientProvider } from "@tanstack/react-query";
import { act, cleanup, render, screen } from "@testing-library/react";
import { afterEach, describe, expect, it } from "vitest";
import { AccessService, Role } from "../proto/evenpeel/access/v1/access_service_pb.ts";
import { newQueryClient } from "./queries.ts";
import { SessionProvider, useSession } from "./session.tsx";

const ada = {
  name: "people/ada",
  email: "ada@example.org",
  title: "Ada Moor",
  roles: [Role.OFFICE_EDITOR],
  branch: "",
};
type Answer = "ada" | "nobody" | "away";

let acts: ReturnType<typeof useSession>;
function Probe() {
  acts = useSession();
  const { session } = acts;
  return (
    <p>{session.state === "signed in" ? `${session.person.title}, ${session.network}` : session.state}</p>
  );
}

async function open(answer: Answer) {
  const transport = createRouterTransport(({ service }) =>
    service(AccessService, {
      whoAmI() {
        if (answer === "nobody") throw new ConnectError("x", Code.Unauthenticated);
        if (answer === "away") throw new ConnectError("x", Code.Unavailable);
        return { person: ada, version: "1.2.3" };
      },
      signIn: ({ password }) => {
        if (password !== "right") throw new ConnectError("x", Code.Unauthenticated);
        return { person: ada };
      },
      signOut: () => ({}),
    }),
  );
  await act(async () => {
    render(
      <TransportProvider transport={transport}>
        <QueryClientProvider client={newQueryClient(() => undefined)}>
          <SessionProvider>
            <Probe />
          </SessionProvider>
        </QueryClientProvider>
      </TransportProvider>,
    );
  });
}

afterEach(async () => {
  await act(() => acts.signOut());
  cleanup();
});

describe("the session", () => {
  it("is the person that the server knows", async () => {
    await open("ada");
    expect(await screen.findByText("Ada Moor, here")).toBeTruthy();
    expect(acts.serverVersion).toBe("1.2.3");
  });
  it("is nobody before somebody signs in, and a wrong password stays a fault", async () => {
    await open("nobody");
    expect(await screen.findByText("nobody")).toBeTruthy();
    await expect(acts.signIn("ada@example.org", "wrong")).rejects.toThrow();
    await act(() => acts.signIn("ada@example.org", "right"));
    expect(screen.getByText("Ada Moor, here")).toBeTruthy();
  });
  it("keeps the last person while the service is away, and forgets them on signing out", async () => {
    await open("ada");
    await screen.findByText("Ada Moor, here");
    cleanup();
    await open("away");
    expect(await screen.findByText("Ada Moor, away")).toBeTruthy();
    await act(() => acts.signOut());
    cleanup();
    await open("away");
    expect(await screen.findByText("failed")).toBeTruthy();
  });
});

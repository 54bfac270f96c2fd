import { clone, create } from "@bufbuild/protobuf";
import { Code, ConnectError, createRouterTransport } from "@connectrpc/connect";
import { TransportProvider } from "@connectrpc/connect-query";
import { QueryClient, QueryClientProvider } from "@tanstack/react-query";
import { cleanup, fireEvent, render, screen, within } from "@testing-library/react";
import { afterEach, expect, it, vi } from "vitest";
import { Router } from "wouter";
import { memoryLocation } from "wouter/memory-location";
import { SessionProvider, useSession } from "../../app/session.tsx";
import {
  AccessService,
  type CreatePersonRequest,
  type EndSessionsRequest,
  type Person,
  PersonSchema,
  Role,
} from "../../proto/evenpeel/access/v1/access_service_pb.ts";
import { BranchesService } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import People from "./People.tsx";

afterEach(cleanup);

const ann = create(PersonSchema, {
  name: "people/ann",
  email: "ann@example.com",
  title: "Ann",
  roles: [Role.OFFICE_APPROVER],
});
const bo = create(PersonSchema, {
  name: "people/bo",
  email: "bo@example.com",
  title: "Bo",
  roles: [Role.BRANCH_OPERATOR],
  branch: "branches/elm",
});

function SignedIn() {
  return useSession().session.state === "signed in" ? <People /> : null;
}

function open(at: string, me = ann) {
  const added: CreatePersonRequest[] = [];
  const ended: EndSessionsRequest[] = [];
  const people: Person[] = [ann, bo];
  const transport = createRouterTransport(({ service }) => {
    service(AccessService, {
      whoAmI: () => ({ person: me }),
      listPeople: () => ({ people }),
      createPerson: (request) => {
        if (request.person?.email === bo.email) throw new ConnectError("taken", Code.AlreadyExists);
        added.push(request);
        const person = clone(PersonSchema, request.person ?? bo);
        person.name = "people/cy";
        people.push(person);
        return { person };
      },
      endSessions: (request) => {
        ended.push(request);
        return { endedCount: 2 };
      },
    });
    service(BranchesService, {
      listBranches: () => ({ branches: [{ name: "branches/elm", title: "Elm Yard" }] }),
    });
  });
  const memory = memoryLocation({ path: at, record: true });
  render(
    <TransportProvider transport={transport}>
      <QueryClientProvider client={new QueryClient({ defaultOptions: { queries: { retry: false } } })}>
        <SessionProvider>
          <Router hook={memory.hook} searchHook={memory.searchHook}>
            <SignedIn />
          </Router>
        </SessionProvider>
      </QueryClientProvider>
    </TransportProvider>,
  );
  return { added, ended, memory };
}

const type = (label: string, value: string) =>
  fireEvent.change(screen.getByLabelText(label), { target: { value } });

it("lists who may do what, with the branch by its title", async () => {
  open("/people");
  const row = (await screen.findByRole("rowheader", { name: "Bo" })).closest("tr") as HTMLElement;
  expect(within(row).getByText("Branch operator")).toBeDefined();
  expect(await within(row).findByText("Elm Yard")).toBeDefined();
});

it("shows an auditor the list and nothing to press", async () => {
  open("/people?add=yes", create(PersonSchema, { ...ann, roles: [Role.AUDITOR] }));
  await screen.findByRole("rowheader", { name: "Bo" });
  expect(screen.queryByRole("button", { name: /End sessions/ })).toBeNull();
  expect(screen.queryByRole("form", { name: "Add a person" })).toBeNull();
});

it("adds a person of a branch only with the branch", async () => {
  const { added, memory } = open("/people?add=yes");
  await screen.findByRole("form", { name: "Add a person" });
  type("How they are called", "Cy");
  type("E-mail address", "cy@example.com");
  type("First password", "long enough words");
  fireEvent.click(screen.getByRole("checkbox", { name: /Branch operator/ }));
  fireEvent.click(screen.getByRole("button", { name: "Add this person" }));
  expect(screen.getByRole("link", { name: "Choose the branch they work at." })).toBeDefined();
  expect(added).toHaveLength(0);

  await screen.findByRole("option", { name: "Elm Yard" });
  fireEvent.change(screen.getByRole("combobox"), { target: { value: "branches/elm" } });
  fireEvent.click(screen.getByRole("button", { name: "Add this person" }));
  expect(await screen.findByText("Cy was added and can sign in as cy@example.com.")).toBeDefined();
  expect(added[0]?.person).toMatchObject({
    title: "Cy",
    roles: [Role.BRANCH_OPERATOR],
    branch: "branches/elm",
  });
  expect(memory.history.at(-1)).toBe("/people");
  expect(await screen.findByRole("rowheader", { name: "Cy" })).toBeDefined();
});

it("keeps what was typed when the server refuses", async () => {
  open("/people?add=yes");
  await screen.findByRole("form", { name: "Add a person" });
  type("How they are called", "Bo again");
  type("E-mail address", bo.email);
  type("First password", "long enough words");
  fireEvent.click(screen.getByRole("checkbox", { name: /Auditor/ }));
  fireEvent.click(screen.getByRole("button", { name: "Add this person" }));
  expect(await screen.findByText("The person was not added")).toBeDefined();
  expect((screen.getByLabelText("How they are called") as HTMLInputElement).value).toBe("Bo again");
});

it("ends sessions only after asking, and keeps out where asked", async () => {
  const { ended } = open("/people");
  fireEvent.click(await screen.findByRole("button", { name: "End sessions of Bo" }));
  const dialog = screen.getByRole("dialog", { name: "End every session of Bo?" });
  expect(ended).toHaveLength(0);
  fireEvent.click(within(dialog).getByRole("checkbox", { name: /Keep them out/ }));
  fireEvent.click(within(dialog).getByRole("button", { name: "End sessions" }));
  await vi.waitFor(() => expect(ended[0]).toMatchObject({ name: "people/bo", bar: true }));
  expect(await screen.findByText("2 sessions of Bo ended. They are kept out from now on.")).toBeDefined();
});

// Who is signed in. The server decides; the last answer is kept here so that a bench without network still knows its
// person and branch. What is kept opens nothing: every call is judged by the server.
import { createClient } from "@connectrpc/connect";
import { useTransport } from "@connectrpc/connect-query";
import { useQueryClient } from "@tanstack/react-query";
import { createContext, type ReactNode, useCallback, useContext, useEffect, useMemo, useState } from "react";
import type { Fault } from "../kit/fault.ts";
import {
  AccessService,
  type Person as PersonMessage,
  type Role,
} from "../proto/evenpeel/access/v1/access_service_pb.ts";
import { keep, recordOf } from "../units/kept.ts";
import { faultOf } from "./fault.ts";

export type Person = {
  /** "people/{id}" */
  readonly name: string;
  readonly email: string;
  readonly title: string;
  readonly roles: readonly Role[];
  /** "branches/{id}", or empty for head office. */
  readonly branch: string;
};

export type Session =
  | { state: "asking" }
  | { state: "nobody" }
  | { state: "signed in"; person: Person; network: "here" | "away" }
  | { state: "failed"; fault: Fault };

type SessionActs = {
  session: Session;
  /** Version of the server that answered last, or empty. */
  serverVersion: string;
  /** Fails with a Fault. */
  signIn: (email: string, password: string) => Promise<void>;
  signOut: () => Promise<void>;
  /** Asks again who is signed in. */
  ask: () => Promise<void>;
};

const SessionContext = createContext<SessionActs | null>(null);

const lastPerson = keep<Person | null>("evenpeel:person", (stored) => {
  const was = recordOf(stored);
  if (typeof was.name !== "string" || !Array.isArray(was.roles)) return null;
  const words = (value: unknown) => (typeof value === "string" ? value : "");
  return {
    name: was.name,
    email: words(was.email),
    title: words(was.title),
    branch: words(was.branch),
    roles: was.roles.filter((role): role is Role => typeof role === "number"),
  };
});

const personOf = ({ name, email, title, roles, branch }: PersonMessage): Person => ({
  name,
  email,
  title,
  roles,
  branch,
});

/** SessionProvider asks once who is signed in and gives the answer to everything inside. */
export function SessionProvider({ children }: { children: ReactNode }) {
  const transport = useTransport();
  const queries = useQueryClient();
  const access = useMemo(() => createClient(AccessService, transport), [transport]);
  const [session, setSession] = useState<Session>({ state: "asking" });
  const [serverVersion, setServerVersion] = useState("");

  const enter = useCallback((person: Person, network: "here" | "away") => {
    if (network === "here") lastPerson.set(person);
    setSession({ state: "signed in", person, network });
  }, []);

  const ask = useCallback(async () => {
    try {
      const answer = await access.whoAmI({});
      setServerVersion(answer.version);
      if (answer.person) enter(personOf(answer.person), "here");
      else setSession({ state: "nobody" });
    } catch (error) {
      const fault = faultOf(error);
      const last = lastPerson.value();
      if (fault.kind === "NOT_SIGNED_IN") setSession({ state: "nobody" });
      else if (last) enter(last, "away");
      else setSession({ state: "failed", fault });
    }
  }, [access, enter]);

  useEffect(() => {
    void ask();
    const again = () => void ask();
    window.addEventListener("online", again);
    return () => window.removeEventListener("online", again);
  }, [ask]);

  const acts = useMemo<SessionActs>(
    () => ({
      session,
      serverVersion,
      ask,
      async signIn(email, password) {
        const before = lastPerson.value()?.name;
        const { person } = await access.signIn({ email, password });
        if (!person) throw new Error("the server signed nobody in");
        // What another person saw is not shown; the same person keeps the screen and asks for fresh answers.
        if (before !== person.name) queries.clear();
        enter(personOf(person), "here");
        void queries.invalidateQueries();
      },
      async signOut() {
        await access.signOut({});
        lastPerson.set(null);
        setSession({ state: "nobody" });
        queries.clear();
      },
    }),
    [session, serverVersion, ask, access, enter, queries],
  );
  return <SessionContext value={acts}>{children}</SessionContext>;
}

/** useSession gives the session and what can be done with it. */
export function useSession(): SessionActs {
  const acts = useContext(SessionContext);
  if (!acts) throw new Error("useSession stands outside SessionProvider");
  return acts;
}

/** usePerson gives who is signed in. Screens that are not open always have one. */
export function usePerson(): Person {
  const { session } = useSession();
  if (session.state !== "signed in") throw new Error("usePerson stands on a screen that is open to nobody");
  return session.person;
}

/** useNetwork says whether the server was reached last time, for StateLine. */
export function useNetwork(): "here" | "away" {
  const { session } = useSession();
  return session.state === "signed in" ? session.network : "here";
}

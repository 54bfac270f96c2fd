import { TransportProvider } from "@connectrpc/connect-query";
import { QueryClientProvider } from "@tanstack/react-query";
import { lazy, type ReactNode, Suspense, useEffect, useRef, useState } from "react";
import { matchRoute, useLocation, useRouter, Route as WouterRoute } from "wouter";
import { useSurroundings } from "../kit/choices.ts";
import { Dialog } from "../kit/Dialog.tsx";
import { applySurroundings } from "../kit/surroundings.ts";
import { Loading } from "../kit/Waiting.tsx";
import { paths } from "./paths.ts";
import { newQueryClient } from "./queries.ts";
import { navigation, type Screen, screens } from "./rooms.ts";
import type { Route } from "./route.ts";
import { Shell } from "./Shell.tsx";
import { Boundary, NotFound, ServiceAway } from "./Stops.tsx";
import { SessionProvider, useSession } from "./session.tsx";
import { transport } from "./transport.ts";

const SignInForm = lazy(() => import("../rooms/access/SignInForm.tsx"));
const SignIn = lazy(() => import("../rooms/access/SignIn.tsx"));
const start: Screen = {
  path: paths.start,
  place: "desk",
  screen: () => import("./Start.tsx"),
  component: lazy(() => import("./Start.tsx")),
};
const all: readonly Screen[] = [...screens, start];

/** App is the whole page. */
export function App() {
  const [ended, setEnded] = useState(false);
  const [queries] = useState(() => newQueryClient(() => setEnded(true)));
  return (
    <TransportProvider transport={transport}>
      <QueryClientProvider client={queries}>
        <SessionProvider>
          <Page ended={ended} onBack={() => setEnded(false)} />
        </SessionProvider>
      </QueryClientProvider>
    </TransportProvider>
  );
}

function Page({ ended, onBack }: { ended: boolean; onBack: () => void }) {
  const [at] = useLocation();
  const { parser } = useRouter();
  const { session, signOut, ask } = useSession();
  const surroundings = useSurroundings();
  useEffect(() => applySurroundings(surroundings, document.documentElement), [surroundings]);
  useMovedFocus(at);

  const screen = all.find((candidate) => matchRoute(parser, candidate.path, at)[0]);
  const person = session.state === "signed in" ? session.person : null;
  const signOutAndBack = async () => {
    await signOut();
    onBack();
  };
  return (
    <Shell navigation={navigation} person={person} place={screen?.place ?? "desk"} onSignOut={signOutAndBack}>
      <Boundary key={at}>
        <Suspense fallback={<Loading what="the screen" />}>
          {screen ? (
            <Gate route={screen} onRetry={() => void ask()}>
              <WouterRoute path={screen.path}>
                <screen.component />
              </WouterRoute>
            </Gate>
          ) : (
            <NotFound />
          )}
        </Suspense>
      </Boundary>
      <Dialog open={ended && person !== null} onClose={onBack} title="Your session has ended. Who is here?">
        <Suspense fallback={<Loading what="the form" />}>
          <SignInForm onSignedIn={onBack} />
        </Suspense>
      </Dialog>
    </Shell>
  );
}

/** Gate lets in whoever is signed in; others sign in here, so that the address they came for stays. */
function Gate({ route, onRetry, children }: { route: Route; onRetry: () => void; children: ReactNode }) {
  const { session } = useSession();
  if (route.open) return children;
  switch (session.state) {
    case "asking":
      return <Loading what="who is signed in" />;
    case "nobody":
      return <SignIn />;
    case "failed":
      return <ServiceAway fault={session.fault} onRetry={onRetry} />;
    case "signed in":
      return children;
  }
}

/** useMovedFocus brings the focus to the new screen, so that a screen reader reads it and Tab starts there. */
function useMovedFocus(at: string): void {
  const last = useRef(at);
  useEffect(() => {
    if (last.current === at) return;
    last.current = at;
    window.scrollTo(0, 0);
    document.getElementById("main")?.focus();
  }, [at]);
}

// Where the way ends: a screen that broke, an address with nothing behind it, a service that can not be asked.
import { Component, type ReactNode } from "react";
import { Button, ButtonLink } from "../kit/Button.tsx";
import type { Fault } from "../kit/fault.ts";
import { Failure } from "../kit/Notice.tsx";
import { Screen } from "../kit/Screen.tsx";
import { Empty } from "../kit/Waiting.tsx";
import { faultOf } from "./fault.ts";
import { paths } from "./paths.ts";

/** NotFound says that there is nothing here, and where to go. */
export function NotFound() {
  return (
    <Screen question="There is nothing at this address">
      <Empty
        title="The link may be old, or a letter is missing."
        action={<ButtonLink to={paths.start}>Go to the start</ButtonLink>}
      >
        <p>Everything that can be reached stands on the start screen.</p>
      </Empty>
    </Screen>
  );
}

/** ServiceAway stands in for every screen while nobody can be asked who is signed in. */
export function ServiceAway({ fault, onRetry }: { fault: Fault; onRetry: () => void }) {
  return (
    <Screen question="The service does not answer" state={{ network: "away" }}>
      <Failure fault={fault} title="It could not be asked who is signed in" onRetry={onRetry} />
    </Screen>
  );
}

type BoundaryProps = { children: ReactNode };

/** Boundary keeps a broken screen from taking the page with it. Give it the address as key. */
export class Boundary extends Component<BoundaryProps, { fault: Fault | null }> {
  override state: { fault: Fault | null } = { fault: null };

  static getDerivedStateFromError(error: unknown) {
    // A part of the page that can not be loaded is the network, not a fault of the screen.
    const unreached =
      (error instanceof TypeError && /import|module/i.test(error.message)) ||
      (error instanceof Error && error.message.startsWith("Unable to preload"));
    const fault = faultOf(error);
    if (!unreached) return { fault };
    return { fault: { ...fault, kind: "UNREACHED", words: "This screen is not on this tablet yet." } };
  }

  override componentDidCatch(error: unknown) {
    console.error(error);
  }

  override render() {
    if (!this.state.fault) return this.props.children;
    return (
      <Screen question="This screen could not be shown">
        <Failure fault={this.state.fault} title="Nothing that was saved is lost">
          <Button onClick={() => window.location.reload()}>Load the page again</Button>
        </Failure>
      </Screen>
    );
  }
}

import { Button } from "../kit/Button.tsx";
import { Notice } from "../kit/Notice.tsx";
import { useNewerPage } from "./newerPage.ts";

// Work that is led step by step is not interrupted; the notice waits for the next screen.
const inHand = /^\/bench\/plans\/[^/]+\/(steps|outcome)$/;

/** NewerPage says that a newer page is here, on screens where nothing is in hand. */
export function NewerPage({ at }: { at: string }) {
  const reload = useNewerPage();
  if (!reload || inHand.test(at)) return null;
  return (
    <Notice kind="info" live title="A newer page is here.">
      <p>What is saved stays. What is half typed on this screen may go: finish it first.</p>
      <Button onClick={reload}>Reload</Button>
    </Notice>
  );
}

import { Screen } from "../../kit/Screen.tsx";
import { Empty } from "../../kit/Waiting.tsx";

/** NoBranch stands where a person of head office opens a bench screen. */
export function NoBranch({ question }: { question: string }) {
  return (
    <Screen question={question}>
      <Empty title="You belong to no branch.">
        <p>The bench shows one branch's own machines and orders. Sign in as a person of that branch.</p>
      </Empty>
    </Screen>
  );
}

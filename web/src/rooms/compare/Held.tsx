// Held lets a picture be held at an instant, so that the same link shows the same picture next month, whatever is
// reported or corrected after it.
import { type Timestamp, timestampDate } from "@bufbuild/protobuf/wkt";
import { Button } from "../../kit/Button.tsx";
import type { Span } from "./view.ts";

type HeldProps = {
  span: Span;
  /** The instant that the answer is for. */
  answered: Timestamp | undefined;
  onHold: (asOf: string) => void;
};

export function Held({ span, answered, onHold }: HeldProps) {
  if (span.asOf !== "")
    return (
      <Button kind="plain" onClick={() => onHold("")}>
        Show what is known now
      </Button>
    );
  if (!answered) return null;
  return (
    <Button kind="plain" onClick={() => onHold(timestampDate(answered).toISOString())}>
      Hold this picture
    </Button>
  );
}

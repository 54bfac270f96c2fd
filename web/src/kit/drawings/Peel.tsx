import { Drawing } from "./Drawing.tsx";

export type PeelKind = "hot" | "warm" | "cold";

const words: Record<PeelKind, string> = {
  hot: "Peel hot: at once, while it is hot",
  warm: "Peel warm: wait until it is hand-warm",
  cold: "Peel cold: wait until it is cold",
};

/** Peel shows when the carrier comes off: a hand, a clock that fills with the wait, and how much heat still rises. */
export function Peel({ kind, titled = true }: { kind: PeelKind; titled?: boolean }) {
  const waves = { hot: 3, warm: 1, cold: 0 }[kind];
  return (
    <Drawing size={[200, 110]} title={titled ? words[kind] : undefined}>
      <rect x="8" y="84" width="120" height="14" rx="7" data-fill="paper" />
      <rect x="28" y="77" width="62" height="7" data-fill="shade" />
      {Array.from({ length: waves }, (_, at) => 30 + at * 13).map((x) => (
        <path key={x} d={`M${x} 70c-4 -6 4 -9 0 -16`} />
      ))}
      {/* the carrier, half off, and the hand that draws it back */}
      <path d="M90 76c18 0 30 -8 30 -24c0 -14 -12 -22 -26 -22" />
      <path d="M96 34c-8 1 -16 0 -20 -4c-2 -3 1 -6 4 -5l14 3" data-fill="paper" />
      <path
        d="M94 26c-7 -2 -14 -6 -18 -11c-2 -3 1 -6 4 -4l18 10l20 -12c4 -2 8 -2 12 0l8 4v22l-14 4c-4 4 -10 5 -16 4l-12 -9Z"
        data-fill="paper"
      />
      <circle cx="168" cy="72" r="26" data-fill="paper" />
      {kind === "warm" && <path d="M168 72V50a22 22 0 0 1 19 33Z" data-fill="mark" data-line="none" />}
      {kind === "cold" && <circle cx="168" cy="72" r="21" data-fill="mark" data-line="none" />}
      {kind === "hot" && <path d="M168 72V52M168 72l0 -4" />}
      <path d="M168 46v4M168 94v4M142 72h4M190 72h4" />
    </Drawing>
  );
}

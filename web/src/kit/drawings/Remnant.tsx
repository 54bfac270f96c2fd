import { Drawing } from "./Drawing.tsx";

type RemnantProps = {
  /** Across the roll and along it, both in the same unit; only their ratio is drawn. */
  width: number;
  length: number;
  title?: string;
};

/** Remnant shows a left-over piece flat, one corner lifted off its carrier, in its true proportions up to 1 to 4. */
export function Remnant({ width, length, title }: RemnantProps) {
  const height = 62;
  const long = Math.min(4, Math.max(0.25, length / Math.max(1, width)));
  const across = long > 2.6 ? 162 / long : height;
  const along = Math.max(22, long * across);
  const [x, y] = [(190 - along) / 2, (108 - across) / 2];
  const lift = Math.min(14, across / 3, along / 3);
  return (
    <Drawing size={[190, 108]} title={title}>
      <path
        d={`M${x} ${y}H${x + along - lift}L${x + along} ${y + lift}V${y + across}H${x}Z`}
        data-fill="shade"
      />
      <path d={`M${x + along - lift} ${y}V${y + lift}H${x + along}`} data-fill="paper" />
    </Drawing>
  );
}

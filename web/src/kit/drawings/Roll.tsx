import { Drawing } from "./Drawing.tsx";

type RollProps = {
  /** How much is left, 0 to 1. */
  left: number;
  title?: string;
};

/** Roll shows a roll of film from its side, as thick as there is film left on its core. */
export function Roll({ left, title }: RollProps) {
  const core = 11;
  // The wound area is what is left, so the radius goes with its root.
  const radius = Math.sqrt(core ** 2 + Math.min(1, Math.max(0, left)) * (44 ** 2 - core ** 2));
  const y = 54;
  return (
    <Drawing size={[190, 108]} title={title}>
      <path d={`M50 ${y + radius}H172l10 6`} />
      <circle cx="50" cy={y} r={radius} data-fill="shade" />
      {radius > core + 9 && <circle cx="50" cy={y} r={(radius + core) / 2} data-line="thin" />}
      <circle cx="50" cy={y} r={core} data-fill="paper" />
      <path d="M50 50v8M46 54h8" />
      <path d={`M118 ${y + radius}v-7M140 ${y + radius}v-7M162 ${y + radius}v-7`} data-line="thin" />
    </Drawing>
  );
}

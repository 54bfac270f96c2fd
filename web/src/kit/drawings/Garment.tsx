import { Drawing } from "./Drawing.tsx";

export const garmentKinds = ["tee", "hoodie", "bag", "childTee"] as const;
export type GarmentKind = (typeof garmentKinds)[number];

const names: Record<GarmentKind, string> = {
  tee: "T-shirt",
  hoodie: "Hoodie",
  bag: "Bag",
  childTee: "Child’s T-shirt",
};

/** A placement in hundredths of the garment's drawn width and height, from its top left. */
export type Placement = { x: number; y: number; width: number; height: number };

type GarmentProps = { kind: GarmentKind; placement?: Placement; titled?: boolean };

const tee = "M44 18c4 8 28 8 32 0l14 4l24 22l-15 17l-13 -9v60H34v-60l-13 9L6 44l24 -22Z";

/** Garment shows what is pressed, with the placement filled. A child's garment is smaller and carries its ruler. */
export function Garment({ kind, placement, titled = true }: GarmentProps) {
  return (
    <Drawing size={[120, 124]} title={titled ? names[kind] : undefined}>
      {kind === "tee" && <path d={tee} data-fill="paper" />}
      {kind === "childTee" && (
        <>
          <path d={tee} data-fill="paper" transform="translate(24 37) scale(0.66)" />
          <path d="M12 37v75M12 37h6M12 52h4M12 67h6M12 82h4M12 97h6M12 112h4" />
        </>
      )}
      {kind === "hoodie" && (
        <>
          <path
            d="M42 26l-18 6c-8 4 -12 12 -14 24l-4 46h16l4 -34v46h68v-46l4 34h16l-4 -46c-2 -12 -6 -20 -14 -24l-18 -6Z"
            data-fill="paper"
          />
          <path
            d="M38 28c-2 -16 8 -24 22 -24s24 8 22 24c-6 8 -14 12 -22 12s-16 -4 -22 -12Z"
            data-fill="paper"
          />
          <path d="M46 24c2 -8 6 -11 14 -11s12 3 14 11c-4 6 -8 9 -14 9s-10 -3 -14 -9Z" data-fill="shade" />
          <path d="M54 39v18M66 39v18M42 106l5 -20h26l5 20" />
        </>
      )}
      {kind === "bag" && (
        <>
          <path d="M24 44h72l6 70H18Z" data-fill="paper" />
          <path d="M42 44c0 -44 36 -44 36 0" />
          <path d="M22 56h76" data-line="dash" />
        </>
      )}
      {placement && (
        <rect
          x={(placement.x * 120) / 100}
          y={(placement.y * 124) / 100}
          width={(placement.width * 120) / 100}
          height={(placement.height * 124) / 100}
          data-fill="mark"
        />
      )}
    </Drawing>
  );
}

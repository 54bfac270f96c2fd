// Layouts that a person holds: found by a search, moved by hand, or stepped back to. The server keeps none of them; it
// checks each exactly whenever it is handed one, and works price and film out again.
import type { Layout, Place } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";

export type Held = { places: readonly Place[]; rolls: readonly string[] };

/** Step is what is held for each layout of the plan, by its index. */
export type Step = ReadonlyMap<number, Held>;

export type History = { past: readonly Step[]; now: Step; future: readonly Step[] };

export const nothingHeld: History = { past: [], now: new Map(), future: [] };

const mostSteps = 200;

/** hold takes a new layout in hand; what was stepped back from is gone. */
export function hold(history: History, index: number, held: Held): History {
  const now = new Map(history.now).set(index, held);
  return { past: [...history.past, history.now].slice(-mostSteps), now, future: [] };
}

export function stepBack({ past, now, future }: History): History {
  const before = past.at(-1);
  return before ? { past: past.slice(0, -1), now: before, future: [now, ...future] } : { past, now, future };
}

export function stepForward({ past, now, future }: History): History {
  const [next, ...rest] = future;
  return next ? { past: [...past, now], now: next, future: rest } : { past, now, future };
}

/** heldOf takes a layout of the server in hand. With one cut the server chooses the film anew. */
export function heldOf(layout: Layout): Held {
  return { places: layout.places, rolls: layout.cuts.length > 1 ? layout.cuts.map(({ roll }) => roll) : [] };
}

/** keepOf hands everything held to the server. */
export const keepOf = (step: Step) =>
  [...step].map(([layout, { places, rolls }]) => ({
    layout,
    places: [...places],
    cuts: rolls.map((roll) => ({ roll })),
  }));

const change = (held: Held, at: number, to: (place: Place) => Partial<Place>): Held => ({
  ...held,
  places: held.places.map((place, index) => (index === at ? { ...place, ...to(place) } : place)),
});

/** moved moves one design: across and along in micrometres. */
export const moved = (held: Held, at: number, across: bigint, along: bigint): Held =>
  change(held, at, (place) => ({
    xUm: place.xUm + across,
    yUm: place.yUm + along,
    originXUm: place.originXUm + across,
    originYUm: place.originYUm + along,
  }));

/** turned turns one design by a quarter; the server answers where its box and origin come to lie. */
export const turned = (held: Held, at: number): Held =>
  change(held, at, (place) => {
    const angleMdeg = (place.angleMdeg + 90_000) % 360_000;
    return { angleMdeg, turned: angleMdeg === 90_000 };
  });

/** locked keeps one design where it is in every search, or lets it go again. */
export const locked = (held: Held, at: number): Held =>
  change(held, at, (place) => ({ locked: !place.locked }));

/** wrongPlaces reads which designs of a layout a LAYOUT_INVALID fault names: "keep[0].places[4]". */
export function wrongPlaces(paths: readonly string[], step: Step, index: number): Set<number> {
  const position = [...step.keys()].indexOf(index);
  const wrong = new Set<number>();
  for (const path of paths) {
    const found = /^keep\[(\d+)\]\.places\[(\d+)\]/.exec(path);
    if (found && Number(found[1]) === position) wrong.add(Number(found[2]));
  }
  return wrong;
}

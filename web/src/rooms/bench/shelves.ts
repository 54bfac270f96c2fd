// Rolls as they lie: one shelf for each film, by colour, rolls before remnants, the longest first.
import type { Pace, Roll } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";

export type FilmShelf = {
  film: string;
  title: string;
  leftMm: number;
  rolls: readonly Roll[];
};

/** usualRollMm is how long a full roll is drawn: 25 m, from memory; a longer one in stock sets the scale instead. */
const usualRollMm = 25_000;

/** shelves groups rolls by film, by title. */
export function shelves(rolls: readonly Roll[], titleOf: (film: string) => string): FilmShelf[] {
  const groups = new Map<string, FilmShelf & { rolls: Roll[] }>();
  for (const roll of rolls) {
    const group = groups.get(roll.film) ?? {
      film: roll.film,
      title: titleOf(roll.film),
      leftMm: 0,
      rolls: [],
    };
    group.rolls.push(roll);
    group.leftMm += Number(roll.lengthMm);
    groups.set(roll.film, group);
  }
  for (const group of groups.values())
    group.rolls.sort(
      (a, b) =>
        a.colour.localeCompare(b.colour) ||
        Number(a.remnant) - Number(b.remnant) ||
        Number(b.lengthMm - a.lengthMm),
    );
  return [...groups.values()].sort((a, b) => a.title.localeCompare(b.title));
}

/** paceOf is how fast a roll's film goes in its colour. */
export function paceOf(roll: Roll, paces: readonly Pace[]): Pace | undefined {
  return paces.find(({ film, colour }) => film === roll.film && colour === roll.colour);
}

/** fullMm is the length that is drawn as a full roll on this shelf. */
export function fullMm(rolls: readonly Roll[]): number {
  return Math.max(usualRollMm, ...rolls.map(({ lengthMm }) => Number(lengthMm)));
}

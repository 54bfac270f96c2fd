// Rolls as they lie: one shelf for each film and colour, rolls before remnants, oldest first.
import type { Pace, Roll } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";

export type FilmShelf = {
  key: string;
  title: string;
  leftMm: number;
  rolls: readonly Roll[];
  pace: Pace | undefined;
};

/** usualRollMm is how long a full roll is drawn: 25 m, from memory; a longer one in stock sets the scale instead. */
const usualRollMm = 25_000;

/** shelves groups rolls by film and colour. Shelves that run low come first, then by title. */
export function shelves(
  rolls: readonly Roll[],
  paces: readonly Pace[],
  titleOf: (film: string) => string,
): FilmShelf[] {
  const groups = new Map<string, FilmShelf & { rolls: Roll[] }>();
  for (const roll of rolls) {
    const key = `${roll.film}|${roll.colour}`;
    const group = groups.get(key) ?? {
      key,
      title: `${titleOf(roll.film)}, ${roll.colour}`,
      leftMm: 0,
      rolls: [],
      pace: paces.find(({ film, colour }) => film === roll.film && colour === roll.colour),
    };
    group.rolls.push(roll);
    group.leftMm += Number(roll.lengthMm);
    groups.set(key, group);
  }
  for (const group of groups.values())
    group.rolls.sort((a, b) => Number(a.remnant) - Number(b.remnant) || Number(b.lengthMm - a.lengthMm));
  return [...groups.values()].sort(
    (a, b) => Number(b.pace?.low ?? false) - Number(a.pace?.low ?? false) || a.title.localeCompare(b.title),
  );
}

/** fullMm is the length that is drawn as a full roll on this shelf. */
export function fullMm(rolls: readonly Roll[]): number {
  return Math.max(usualRollMm, ...rolls.map(({ lengthMm }) => Number(lengthMm)));
}

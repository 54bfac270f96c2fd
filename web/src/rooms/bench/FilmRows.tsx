import { Checkbox, Select } from "../../kit/Field.tsx";
import { type FieldFault, wordsFor } from "../../kit/fault.ts";
import type { Card } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import type { Figure } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import styles from "./bench.module.css";
import { byRecipe, recordOf, usable } from "./cards.ts";
import type { OpenSheet } from "./sheet.ts";
import type { FilmChoice } from "./wanted.ts";

type FilmRowsProps = {
  films: FilmChoice[];
  figures: readonly Figure[];
  cards: readonly Card[];
  sheet: OpenSheet | undefined;
  faults: readonly FieldFault[];
  onChange: (films: FilmChoice[]) => void;
};

/** FilmRows asks for film on fabric and its colour, for all of the drawing or for each of its colours. */
export function FilmRows({ films, figures, cards, sheet, faults, onChange }: FilmRowsProps) {
  const split = films.length > 1 || (films[0]?.figure ?? "") !== "";
  const recipes = byRecipe(cards).map((card) => ({
    value: recordOf(card.revision),
    words: `${card.title}${usable(card) ? "" : " (not on these machines)"}`,
  }));
  const change = (at: number, to: Partial<FilmChoice>) =>
    onChange(films.map((film, index) => (index === at ? { ...film, ...to } : film)));
  const first = films[0] ?? { figure: "", recipe: "", colour: "" };
  return (
    <div className={styles.step}>
      {figures.length > 1 && (
        <Checkbox
          label="Each colour of the drawing in its own film"
          hint={`The drawing has ${figures.length} colours.`}
          checked={split}
          onChange={(wanted) =>
            onChange(
              wanted
                ? figures.map(({ colour }) => ({ ...first, figure: colour }))
                : [{ ...first, figure: "" }],
            )
          }
        />
      )}
      {films.map((film, at) => {
        const colours = sheet?.recipes.get(film.recipe)?.film?.colours ?? [];
        const of = film.figure === "" ? "" : ` for ${film.figure}`;
        return (
          <fieldset key={film.figure} className={styles.fields} aria-label={`Film${of}`}>
            <Select
              label={`Film and fabric${of}`}
              path={`films[${at}].recipe`}
              fault={wordsFor(faults, `films[${at}].recipe`)}
              value={film.recipe}
              none="Choose film and fabric"
              options={recipes}
              onChange={(recipe) => change(at, { recipe, colour: "" })}
            />
            <Select
              label={`Colour${of}`}
              path={`films[${at}].colour`}
              fault={wordsFor(faults, `films[${at}].colour`)}
              value={film.colour}
              none={film.recipe === "" ? "Choose the film first" : "Choose a colour"}
              options={colours.map((colour) => ({ value: colour, words: colour }))}
              onChange={(colour) => change(at, { colour })}
            />
          </fieldset>
        );
      })}
    </div>
  );
}

import { useState } from "react";
import { Link, useLocation, useSearchParams } from "wouter";
import { paths } from "../../app/paths.ts";
import { usePerson } from "../../app/session.tsx";
import { Button } from "../../kit/Button.tsx";
import { TextField } from "../../kit/Field.tsx";
import { Failure } from "../../kit/Notice.tsx";
import { Screen } from "../../kit/Screen.tsx";
import { Empty, Loading } from "../../kit/Waiting.tsx";
import styles from "./bench.module.css";
import { byRecipe, recipeId, revisionNumber, usable } from "./cards.ts";
import { NoBranch } from "./NoBranch.tsx";
import { releaseWords, SheetLine } from "./SheetLine.tsx";
import { useCards } from "./useCards.ts";

const question = "Which film, on which fabric?";

/** Cards lists every recipe in force here, found by a few letters. */
export default function Cards() {
  const { branch } = usePerson();
  return branch === "" ? <NoBranch question={question} /> : <Found branch={branch} />;
}

function Found({ branch }: { branch: string }) {
  const cards = useCards(branch);
  const [search, setSearch] = useSearchParams();
  const [, go] = useLocation();
  const asked = search.get("find") ?? "";
  const [text, setText] = useState(asked);
  const words = text.toLowerCase().split(/\s+/).filter(Boolean);
  const all = byRecipe(cards.data?.cards ?? []);
  const found = all.filter((card) => {
    const said = `${card.title} ${card.film} ${card.filmTitle} ${card.fabric}`.toLowerCase();
    return words.every((word) => said.includes(word));
  });
  const find = (next: string) => {
    setText(next);
    setSearch(next === "" ? {} : { find: next }, { replace: true });
  };
  return (
    <Screen
      question={question}
      state={{
        network: cards.network,
        ...(cards.asOf === undefined ? {} : { asOf: cards.asOf }),
        revision: releaseWords(cards),
      }}
    >
      <SheetLine cards={cards} />
      <form
        onSubmit={(event) => {
          event.preventDefault();
          const first = found[0];
          if (first) go(paths.card(recipeId(first.revision)));
        }}
      >
        <TextField
          label="Film or fabric"
          hint="A few letters; Enter opens the first card."
          type="search"
          value={text}
          onChange={find}
        />
      </form>
      {!cards.data && !cards.fault && <Loading what="the cards" rows={6} />}
      {!cards.data && cards.fault && (
        <Failure
          fault={cards.fault}
          title="The cards could not be loaded"
          onRetry={cards.retry}
          retrying={cards.retrying}
        />
      )}
      {cards.data && all.length === 0 && (
        <Empty title="No card yet.">
          <p>
            A card needs a recipe in force in this market, and a cutter and a press under Machines. Ask head
            office which release reaches this branch.
          </p>
        </Empty>
      )}
      {all.length > 0 && found.length === 0 && (
        <Empty title="None match." action={<Button onClick={() => find("")}>Show all {all.length}</Button>}>
          <p>A film that is not listed is not approved here: ask head office, and do not guess settings.</p>
        </Empty>
      )}
      <ul className={styles.rows} aria-label="Cards">
        {found.map((card) => (
          <li key={card.revision}>
            <Link href={paths.card(recipeId(card.revision))} className={styles.row}>
              <b>{card.title}</b>
              <small>
                {card.filmTitle} on {card.fabric}, revision {revisionNumber(card.revision)}
                {usable(card) ? "" : " · can not be used on these machines"}
              </small>
            </Link>
          </li>
        ))}
      </ul>
    </Screen>
  );
}

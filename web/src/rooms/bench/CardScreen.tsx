import { useParams, useSearchParams } from "wouter";
import { paths, withQuery } from "../../app/paths.ts";
import { usePerson } from "../../app/session.tsx";
import { Actions, ButtonLink } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { CycleTimeline } from "../../kit/drawings/CycleTimeline.tsx";
import { Hazards } from "../../kit/drawings/Hazard.tsx";
import { Peel } from "../../kit/drawings/Peel.tsx";
import { PressStack } from "../../kit/drawings/PressStack.tsx";
import { Choice } from "../../kit/Field.tsx";
import { Failure, Notice } from "../../kit/Notice.tsx";
import { Facts, Part, Screen } from "../../kit/Screen.tsx";
import { Empty, Loading } from "../../kit/Waiting.tsx";
import {
  BranchesService,
  type Card,
  type Machine,
} from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { shownAs } from "../../units/choice.ts";
import { showDuration, showInstant } from "../../units/durations.ts";
import { formatNumber } from "../../units/numbers.ts";
import { seconds, toShown } from "../../units/quantities.ts";
import { cardsPath } from "./addresses.ts";
import styles from "./bench.module.css";
import { cycleOf, peelOf, recipeId, revisionNumber, usable } from "./cards.ts";
import { DialFigures } from "./DialFigures.tsx";
import { NoBranch } from "./NoBranch.tsx";
import { releaseWords, SheetLine } from "./SheetLine.tsx";
import { useSaved } from "./saved.ts";
import { useCards } from "./useCards.ts";
import { useOpened } from "./useOpened.ts";

/** CardScreen shows one recipe worked out for the branch's own cutter and press. */
export default function CardScreen() {
  const { branch } = usePerson();
  const { recipe = "" } = useParams<{ recipe: string }>();
  return branch === "" ? (
    <NoBranch question="What do I dial?" />
  ) : (
    <OneRecipe branch={branch} recipe={recipe} />
  );
}

function OneRecipe({ branch, recipe }: { branch: string; recipe: string }) {
  const [search, setSearch] = useSearchParams();
  const cards = useCards(branch);
  const machines = useSaved(BranchesService.method.listMachines, { branch }, `machines:${branch}`);
  const fitting = (cards.data?.cards ?? []).filter((card) => recipeId(card.revision) === recipe);
  const usual = fitting.find(usable) ?? fitting[0];
  const card =
    fitting.find(({ cutter, press }) => cutter === search.get("cutter") && press === search.get("press")) ??
    usual;
  useOpened(branch, card && cards.network === "here" ? (cards.data?.release ?? 0n) : 0n);
  const titleOf = (name: string) => titleIn(machines.data?.machines, name);
  return (
    <Screen
      question={card ? card.title : "What do I dial?"}
      state={{
        network: cards.network,
        ...(cards.asOf === undefined ? {} : { asOf: cards.asOf }),
        ...(card ? { revision: `revision ${revisionNumber(card.revision)}, ${releaseWords(cards)}` } : {}),
      }}
      {...(card ? { lead: `${card.filmTitle} on ${card.fabric}` } : {})}
    >
      <SheetLine cards={cards} />
      {!cards.data && !cards.fault && <Loading what="the card" rows={6} />}
      {!cards.data && cards.fault && (
        <Failure
          fault={cards.fault}
          title="The card could not be loaded"
          onRetry={cards.retry}
          retrying={cards.retrying}
        />
      )}
      {cards.data && !card && (
        <Empty
          title="No such recipe is in force here."
          action={<ButtonLink to={cardsPath}>See the cards in force</ButtonLink>}
        >
          <p>Settings are never guessed: ask head office for an approved recipe.</p>
        </Empty>
      )}
      {card && (
        <>
          {fitting.length > 1 && (
            <Choice
              label="Which cutter and press?"
              value={`${card.cutter} ${card.press}`}
              options={fitting.map((option) => ({
                value: `${option.cutter} ${option.press}`,
                words: `${titleOf(option.cutter)} and ${titleOf(option.press)}`,
                ...(usable(option) ? {} : { hint: "can not hold this recipe" }),
              }))}
              onChange={(pair) => {
                const [cutter = "", press = ""] = pair.split(" ");
                setSearch({ cutter, press }, { replace: true });
              }}
            />
          )}
          {card.refusals.length > 0 && (
            <Notice kind="block" title="This card may not be used.">
              {card.refusals.map((words) => (
                <p key={words}>{words}</p>
              ))}
            </Notice>
          )}
          {cards.doubted(card) ? (
            <Notice kind="block" title="This card is not what head office signed.">
              <p>Do not press by it, and tell head office. Its settings are not shown.</p>
            </Notice>
          ) : (
            <Settings card={card} recipe={recipe} titleOf={titleOf} />
          )}
        </>
      )}
    </Screen>
  );
}

type SettingsProps = { card: Card; recipe: string; titleOf: (machine: string) => string };

function Settings({ card, recipe, titleOf }: SettingsProps) {
  const units = useUnits();
  return (
    <>
      <Part title={`Press: ${titleOf(card.press)}`}>
        <DialFigures settings={card.pressSettings} />
        <Hazards kinds={["hot", "pinch", "fumes"]} />
        <div className={styles.pair}>
          <PressStack hot marked={["film"]} {...(card.coverSheet ? {} : { without: ["cover"] })} />
          <PeelPicture card={card} />
        </div>
        <CycleTimeline steps={cycleOf(card)} />
      </Part>
      <Actions>
        {usable(card) ? (
          <ButtonLink
            kind="main"
            to={withQuery(paths.newPlan, { recipe, cutter: card.cutter, press: card.press })}
          >
            Plan with this card
          </ButtonLink>
        ) : (
          <ButtonLink to={paths.machines}>See the machines</ButtonLink>
        )}
      </Actions>
      <Part title={`Cutter: ${titleOf(card.cutter)}`}>
        <DialFigures settings={card.cut} />
        <p>
          {Number(card.passes) === 1 ? "One pass" : `${card.passes} passes`} of the blade, mirrored, carrier
          side down.
        </p>
        <Hazards kinds={["blade"]} />
      </Part>
      <BondLine card={card} />
      {card.advice.length > 0 && (
        <Part title="Advice of the recipe">
          <ul className={styles.advice}>
            {card.advice.map((words) => (
              <li key={words}>{words}</li>
            ))}
          </ul>
        </Part>
      )}
      {card.effectiveTime && (
        <p>
          <small>
            In force since {showInstant(Number(card.effectiveTime.seconds) * 1_000, units.locale)}.
          </small>
        </p>
      )}
    </>
  );
}

/** titleIn gives a machine's name for people, or its id while the list is not here. */
export function titleIn(machines: readonly Machine[] | undefined, name: string): string {
  return machines?.find((machine) => machine.name === name)?.title ?? name.slice(name.lastIndexOf("/") + 1);
}

function PeelPicture({ card }: { card: Card }) {
  const peel = peelOf(card.peel);
  if (!peel) return null;
  const wait = seconds(card.peelWaitSeconds);
  return (
    <figure className={styles.peel}>
      <Peel kind={peel} />
      <figcaption>
        Peel {peel}
        {wait > 0 ? `, after ${showDuration(wait)}` : ", at once"}
      </figcaption>
    </figure>
  );
}

function BondLine({ card }: { card: Card }) {
  const { choice, locale } = useUnits();
  const unit = shownAs("temperature", choice);
  const write = (tenths: bigint) => formatNumber(toShown(Number(tenths) / 10, unit), locale, 0);
  if (card.bondLineDecicelsius === 0n && card.warnings.length === 0) return null;
  return (
    <Part title="What the film should feel">
      {card.bondLineDecicelsius !== 0n && (
        <>
          <Facts
            facts={[
              {
                words: "Bond line at the end of the dwell",
                value: `${write(card.bondLineDecicelsius)} ${unit.symbol}, likely ${write(card.bondLineLowDecicelsius)} to ${write(card.bondLineHighDecicelsius)} ${unit.symbol}`,
              },
            ]}
          />
          <p>
            <small>
              A model's estimate with its band, to rank and to warn. It does not say that the film will hold:
              only a wash test does. The approved recipe stands.
            </small>
          </p>
        </>
      )}
      {card.warnings.map(({ key, words }) => (
        <Notice key={key} kind="caution" title={words} />
      ))}
    </Part>
  );
}

import { Link } from "wouter";
import { lastPart, paths, withQuery } from "../../app/paths.ts";
import { usePerson } from "../../app/session.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Failure, Notice } from "../../kit/Notice.tsx";
import { Part, Screen } from "../../kit/Screen.tsx";
import { Empty, Loading } from "../../kit/Waiting.tsx";
import { type Order, OrdersService } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import { showInstant } from "../../units/durations.ts";
import { cardsPath } from "./addresses.ts";
import styles from "./bench.module.css";
import { LastRuns } from "./LastRuns.tsx";
import { NoBranch } from "./NoBranch.tsx";
import { releaseWords, SheetLine } from "./SheetLine.tsx";
import { useSaved } from "./saved.ts";
import { useCards } from "./useCards.ts";
import { useOutbox, waitingCount } from "./useOutbox.ts";

const question = "What is to be done now?";
const shownOrders = 8;

/** Bench is where a shift begins: find a card, plan something new, go on with what is planned. */
export default function Bench() {
  const { branch } = usePerson();
  return branch === "" ? <NoBranch question={question} /> : <Tiles branch={branch} />;
}

function Tiles({ branch }: { branch: string }) {
  const cards = useCards(branch);
  const orders = useSaved(OrdersService.method.listOrders, { branch }, `orders:${branch}`);
  const outbox = useOutbox(branch);
  const waiting = waitingCount(outbox.entries);
  const last = orders.data?.orders[0];
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
      <nav className={styles.tiles} aria-label="Bench">
        <Tile to={cardsPath} words="Find card" small="Settings on your own dials" />
        <Tile to={paths.newPlan} words="New plan" small="From a drawing to the roll" />
        {last ? (
          <Tile to={paths.plan(lastPart(last.name))} words="Continue" small={last.title || "The last plan"} />
        ) : (
          <Tile to={paths.waiting} words="Waiting" small={waitingWords(waiting)} />
        )}
      </nav>
      {waiting > 0 && (
        <Notice kind="info" title={waitingWords(waiting)}>
          <p>
            <Link href={paths.waiting}>See what waits on this tablet</Link>
          </p>
        </Notice>
      )}
      {cards.fault && !cards.data && (
        <Failure
          fault={cards.fault}
          title="The cards could not be loaded"
          onRetry={cards.retry}
          retrying={cards.retrying}
        />
      )}
      <Part title="Last orders">
        {orders.data ? (
          <Orders orders={orders.data.orders.slice(0, shownOrders)} />
        ) : orders.fault ? (
          <Failure
            fault={orders.fault}
            title="The orders could not be loaded"
            onRetry={orders.retry}
            retrying={orders.retrying}
          />
        ) : (
          <Loading what="the orders" />
        )}
      </Part>
      <LastRuns branch={branch} />
    </Screen>
  );
}

const waitingWords = (count: number): string =>
  count === 0
    ? "Everything is sent"
    : count === 1
      ? "1 entry is saved on this tablet and not confirmed"
      : `${count} entries are saved on this tablet and not confirmed`;

function Tile({ to, words, small }: { to: string; words: string; small: string }) {
  return (
    <Link href={to} className={styles.tile}>
      <b>{words}</b>
      <span>{small}</span>
    </Link>
  );
}

function Orders({ orders }: { orders: readonly Order[] }) {
  const { locale } = useUnits();
  if (orders.length === 0)
    return (
      <Empty title="No order yet.">
        <p>New plan takes a drawing and works out film, time and price.</p>
      </Empty>
    );
  return (
    <ul className={styles.rows}>
      {orders.map((order) => {
        const id = lastPart(order.name);
        return (
          <li key={order.name}>
            <Link href={paths.plan(id)} className={styles.row}>
              <b>{order.title || id}</b>
              {order.createTime && (
                <small>{showInstant(Number(order.createTime.seconds) * 1_000, locale)}</small>
              )}
            </Link>
            <Link href={withQuery(paths.newPlan, { again: id })} className={styles.again}>
              Again<span className="unseen">: {order.title || id}</span>
            </Link>
          </li>
        );
      })}
    </ul>
  );
}

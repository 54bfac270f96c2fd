import { Link } from "wouter";
import { Screen } from "../kit/Screen.tsx";
import { Empty } from "../kit/Waiting.tsx";
import { navigation } from "./rooms.ts";
import { mayGo } from "./Shell.tsx";
import styles from "./Start.module.css";
import { useNetwork, usePerson } from "./session.tsx";

/** Start lists the questions that this person can ask here. A room that exports a route "/" takes its place. */
export default function Start() {
  const person = usePerson();
  const network = useNetwork();
  const entries = mayGo(navigation, person).filter((entry) => entry.for !== "everyone");
  return (
    <Screen question={`Where to, ${person.title || person.email}?`} state={{ network }}>
      {entries.length === 0 ? (
        <Empty title="No screen is open to you yet.">
          <p>Ask head office which role you should have.</p>
        </Empty>
      ) : (
        <ul className={styles.questions}>
          {entries.map((entry) => (
            <li key={entry.to}>
              <Link href={entry.to}>
                <b>{entry.words}</b>
                <span>{entry.question}</span>
              </Link>
            </li>
          ))}
        </ul>
      )}
    </Screen>
  );
}

import { useMutation } from "@connectrpc/connect-query";
import { type FormEvent, useState } from "react";
import { useLocation } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { paths } from "../../app/paths.ts";
import { useSession } from "../../app/session.tsx";
import { Button } from "../../kit/Button.tsx";
import { TextField } from "../../kit/Field.tsx";
import { wordsFor } from "../../kit/fault.ts";
import { ErrorSummary, Failure } from "../../kit/Notice.tsx";
import { Screen } from "../../kit/Screen.tsx";
import { AccessService } from "../../proto/evenpeel/access/v1/access_service_pb.ts";
import styles from "./access.module.css";

const leastPassword = 10; // characters; access.v1 CreateFirstPersonRequest

/** FirstPerson makes the first head-office person, with the one-time word printed when the service first started. */
export default function FirstPerson() {
  const [, go] = useLocation();
  const { signIn } = useSession();
  // The printed link carries the word behind its "#", which no server sees and no log keeps.
  const [typed, setTyped] = useState(() => ({
    word: decodeURIComponent(location.hash.slice(1)),
    title: "",
    email: "",
    password: "",
  }));
  const [attempt, setAttempt] = useState(0);
  const create = useMutation(AccessService.method.createFirstPerson);

  const asked = [
    typed.word.trim() === "" && { path: "word", words: "Write the one-time word." },
    typed.title.trim() === "" && { path: "title", words: "Write how you are called." },
    !typed.email.includes("@") && { path: "email", words: "Write an e-mail address with an @." },
    typed.password.length < leastPassword && {
      path: "password",
      words: `Choose a password of at least ${leastPassword} characters.`,
    },
  ].filter((field) => field !== false);
  const fault = create.error ? faultOf(create.error) : null;
  const fields = attempt === 0 ? [] : asked.length > 0 ? asked : (fault?.fields ?? []);

  async function submit(event: FormEvent) {
    event.preventDefault();
    setAttempt(attempt + 1);
    create.reset();
    if (asked.length > 0 || create.isPending) return;
    const email = typed.email.trim();
    try {
      await create.mutateAsync({ ...typed, word: typed.word.trim(), email });
      await signIn(email, typed.password);
      go(paths.start);
    } catch {
      // shown from create.error; a sign-in that fails after it leaves the person made, and Sign in works
    }
  }
  const field = (path: keyof typeof typed) => ({
    path,
    value: typed[path],
    onChange: (value: string) => setTyped({ ...typed, [path]: value }),
    fault: wordsFor(fields, path),
  });
  return (
    <Screen
      question="Who is the first person?"
      failed={fields.length > 0}
      lead="Once only: later people are added by head office."
    >
      <form className={styles.form} onSubmit={submit} noValidate>
        <ErrorSummary faults={fields} attempt={attempt} />
        {fault && fault.fields.length === 0 && (
          <Failure fault={fault} title="The first person was not made" />
        )}
        <TextField
          label="One-time word"
          hint="Printed by the service when it first started."
          {...field("word")}
        />
        <TextField label="How you are called" autoComplete="name" {...field("title")} />
        <TextField label="E-mail address" type="email" autoComplete="username" {...field("email")} />
        <TextField
          label="Password"
          hint={`At least ${leastPassword} characters.`}
          type="password"
          autoComplete="new-password"
          {...field("password")}
        />
        <div>
          <Button kind="main" type="submit" pending={create.isPending}>
            Make the first person
          </Button>
        </div>
      </form>
    </Screen>
  );
}

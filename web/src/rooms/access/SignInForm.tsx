import { type FormEvent, useState } from "react";
import { faultOf } from "../../app/fault.ts";
import { useSession } from "../../app/session.tsx";
import { Button } from "../../kit/Button.tsx";
import { TextField } from "../../kit/Field.tsx";
import { type Fault, type FieldFault, wordsFor } from "../../kit/fault.ts";
import { ErrorSummary, Failure } from "../../kit/Notice.tsx";
import styles from "./access.module.css";

/** SignInForm asks for address and password; both may be pasted (WCAG 2.2, 3.3.8). */
export default function SignInForm({ onSignedIn }: { onSignedIn: () => void }) {
  const { signIn } = useSession();
  const [email, setEmail] = useState("");
  const [password, setPassword] = useState("");
  const [attempt, setAttempt] = useState(0);
  const [fields, setFields] = useState<readonly FieldFault[]>([]);
  const [fault, setFault] = useState<Fault | null>(null);
  const [pending, setPending] = useState(false);

  async function submit(event: FormEvent) {
    event.preventDefault();
    if (pending) return;
    const missing = [
      email.trim() === "" && { path: "email", words: "Write your e-mail address." },
      password === "" && { path: "password", words: "Write your password." },
    ].filter((field) => field !== false);
    setFields(missing);
    setFault(null);
    setAttempt(attempt + 1);
    if (missing.length > 0) return;
    setPending(true);
    try {
      await signIn(email.trim(), password);
      onSignedIn();
    } catch (error) {
      const found = faultOf(error);
      setFields(found.fields);
      if (found.fields.length === 0) setFault(found);
    } finally {
      setPending(false);
    }
  }
  return (
    <form className={styles.form} onSubmit={submit} noValidate>
      <ErrorSummary faults={fields} attempt={attempt} />
      {fault && <Failure fault={fault} title="You are not signed in" />}
      <TextField
        label="E-mail address"
        path="email"
        type="email"
        autoComplete="username"
        value={email}
        onChange={setEmail}
        fault={wordsFor(fields, "email")}
      />
      <TextField
        label="Password"
        path="password"
        type="password"
        autoComplete="current-password"
        value={password}
        onChange={setPassword}
        fault={wordsFor(fields, "password")}
      />
      <div>
        <Button kind="main" type="submit" pending={pending} pendingWords="Signing in…">
          Sign in
        </Button>
      </div>
    </form>
  );
}

import { useMutation } from "@connectrpc/connect-query";
import { type FormEvent, useEffect, useState } from "react";
import { faultOf } from "../../app/fault.ts";
import { Actions, Button } from "../../kit/Button.tsx";
import { Checkbox, fieldId, Select, TextField } from "../../kit/Field.tsx";
import { type FieldFault, wordsFor } from "../../kit/fault.ts";
import { ErrorSummary, Failure } from "../../kit/Notice.tsx";
import { AccessService, type Person, type Role } from "../../proto/evenpeel/access/v1/access_service_pb.ts";
import type { Branch } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import styles from "./people.module.css";
import { needsBranch, roleWords } from "./words.ts";

const leastPassword = 10; // characters; access.v1 CreatePersonRequest

type Typed = { title: string; email: string; password: string; roles: readonly Role[]; branch: string };

const nothing: Typed = { title: "", email: "", password: "", roles: [], branch: "" };

/** faultsOf says what is missing before anything is sent. */
export function faultsOf(typed: Typed): FieldFault[] {
  return [
    typed.title.trim() === "" && { path: "title", words: "Write how they are called." },
    !typed.email.includes("@") && { path: "email", words: "Write an e-mail address with an @." },
    typed.password.length < leastPassword && {
      path: "password",
      words: `Choose a first password of at least ${leastPassword} characters.`,
    },
    typed.roles.length === 0 && { path: "roles", words: "Choose what they may do." },
    needsBranch(typed.roles) &&
      typed.branch === "" && { path: "branch", words: "Choose the branch they work at." },
  ].filter((fault) => fault !== false);
}

// The server names fields from the message's root, "person.roles[0]"; this form knows them by their last word.
const own = (fault: FieldFault): FieldFault => ({
  path: fault.path.slice(fault.path.lastIndexOf(".") + 1).replace(/\[\d+\]$/, ""),
  words: fault.words,
});

type AddPersonProps = {
  branches: readonly Branch[];
  onAdded: (person: Person) => void;
  onLeave: () => void;
};

/** AddPerson asks for everything a person needs to sign in. */
export function AddPerson({ branches, onAdded, onLeave }: AddPersonProps) {
  const [typed, setTyped] = useState(nothing);
  const [attempt, setAttempt] = useState(0);
  // The form opens by a link on the same screen: go on where it begins.
  useEffect(() => document.getElementById(fieldId("title"))?.focus(), []);
  const create = useMutation(AccessService.method.createPerson);
  const asked = faultsOf(typed);
  const fault = create.error ? faultOf(create.error) : null;
  const fields = attempt === 0 ? [] : asked.length > 0 ? asked : (fault?.fields ?? []).map(own);

  async function submit(event: FormEvent) {
    event.preventDefault();
    setAttempt(attempt + 1);
    create.reset();
    if (asked.length > 0 || create.isPending) return;
    const { title, email, roles, branch, password } = typed;
    try {
      const { person } = await create.mutateAsync({
        person: {
          title: title.trim(),
          email: email.trim(),
          roles: [...roles],
          branch: needsBranch(roles) ? branch : "",
        },
        password,
      });
      if (person) onAdded(person);
    } catch {
      // shown from create.error
    }
  }
  const field = (path: "title" | "email" | "password") => ({
    path,
    value: typed[path],
    onChange: (value: string) => setTyped({ ...typed, [path]: value }),
    fault: wordsFor(fields, path),
  });
  const rolesFault = wordsFor(fields, "roles");
  return (
    <form className={styles.form} onSubmit={submit} noValidate aria-label="Add a person">
      <ErrorSummary faults={fields} attempt={attempt} />
      {fault && fault.fields.length === 0 && <Failure fault={fault} title="The person was not added" />}
      <TextField label="How they are called" maxLength={100} {...field("title")} />
      <TextField label="E-mail address" type="email" maxLength={254} {...field("email")} />
      <TextField
        label="First password"
        hint={`At least ${leastPassword} characters. Hand it over in person.`}
        type="password"
        autoComplete="new-password"
        maxLength={200}
        {...field("password")}
      />
      <fieldset
        className={styles.roles}
        id={fieldId("roles")}
        tabIndex={-1}
        aria-describedby={rolesFault ? "roles-fault" : undefined}
      >
        <legend>What they may do</legend>
        {rolesFault && (
          <p id="roles-fault" className={styles.wrong}>
            <span className="unseen">Error: </span>
            {rolesFault}
          </p>
        )}
        {roleWords.map(({ role, words, does }) => (
          <Checkbox
            key={role}
            label={words}
            hint={does}
            checked={typed.roles.includes(role)}
            onChange={(checked) =>
              setTyped({
                ...typed,
                roles: checked ? [...typed.roles, role] : typed.roles.filter((other) => other !== role),
              })
            }
          />
        ))}
      </fieldset>
      {needsBranch(typed.roles) && (
        <Select
          label="Branch"
          path="branch"
          none="Choose a branch"
          value={typed.branch}
          options={branches.map((branch) => ({ value: branch.name, words: branch.title }))}
          onChange={(branch) => setTyped({ ...typed, branch })}
          fault={wordsFor(fields, "branch")}
        />
      )}
      <Actions>
        <Button kind="main" type="submit" pending={create.isPending} pendingWords="Adding…">
          Add this person
        </Button>
        <Button onClick={onLeave}>Leave without adding</Button>
      </Actions>
    </form>
  );
}

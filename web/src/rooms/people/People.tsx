import { createConnectQueryKey, useQuery } from "@connectrpc/connect-query";
import { useQueryClient } from "@tanstack/react-query";
import { useState } from "react";
import { useLocation, useSearch } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { lastPart, paths, withQuery } from "../../app/paths.ts";
import { mayApprove } from "../../app/roles.ts";
import { useNetwork, usePerson } from "../../app/session.tsx";
import { Actions, Button, ButtonLink } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Failure } from "../../kit/Notice.tsx";
import { Part, Screen } from "../../kit/Screen.tsx";
import { type Column, Table } from "../../kit/Table.tsx";
import { Empty, Loading, Status } from "../../kit/Waiting.tsx";
import { AccessService, type Person } from "../../proto/evenpeel/access/v1/access_service_pb.ts";
import { BranchesService } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { AddPerson } from "./AddPerson.tsx";
import { EndSessions } from "./EndSessions.tsx";
import { rolesOf } from "./words.ts";

/** People lists who may do what; an office approver adds people and ends their sessions. */
export default function People() {
  const me = usePerson();
  const network = useNetwork();
  const units = useUnits();
  const queries = useQueryClient();
  const [, go] = useLocation();
  const adding = new URLSearchParams(useSearch()).get("add") === "yes";
  const [ending, setEnding] = useState<Person | null>(null);
  const [done, setDone] = useState("");
  const people = useQuery(AccessService.method.listPeople);
  const branches = useQuery(BranchesService.method.listBranches).data?.branches ?? [];
  const mayChange = mayApprove(me);

  const branchOf = (person: Person) =>
    branches.find((branch) => branch.name === person.branch)?.title ?? lastPart(person.branch);
  const changed = (words: string) => {
    setDone(words);
    void queries.invalidateQueries({
      queryKey: createConnectQueryKey({ schema: AccessService.method.listPeople, cardinality: "finite" }),
    });
  };
  const columns: Column<Person>[] = [
    {
      key: "title",
      words: "Person",
      heads: true,
      sortBy: (person) => person.title,
      cell: (person) => person.title,
    },
    {
      key: "email",
      words: "E-mail address",
      sortBy: (person) => person.email,
      cell: (person) => person.email,
    },
    { key: "roles", words: "May", sortBy: rolesOf, cell: rolesOf },
    { key: "branch", words: "Branch", sortBy: branchOf, cell: (person) => branchOf(person) || "head office" },
    {
      key: "barred",
      words: "Sign-in",
      sortBy: (person) => (person.barred ? 1 : 0),
      cell: (person) => (person.barred ? "✕ kept out" : "open"),
    },
  ];
  if (mayChange)
    columns.push({
      key: "end",
      words: "Sessions",
      cell: (person) => (
        <Button kind="plain" onClick={() => setEnding(person)}>
          End sessions<span className="unseen"> of {person.title}</span>
        </Button>
      ),
    });

  return (
    <Screen
      question="Who may do what?"
      state={{ network, ...(people.data && { asOf: people.dataUpdatedAt }) }}
      lead="Everyone has a sign-in of their own, so that the record names who did what."
    >
      {people.error && (
        <Failure
          fault={faultOf(people.error)}
          title="The people could not be listed"
          onRetry={() => void people.refetch()}
          retrying={people.isFetching}
        />
      )}
      {people.isPending && <Loading what="the people" rows={6} />}
      <Status>{done}</Status>
      {people.data &&
        (people.data.people.length > 0 ? (
          <Table
            caption="People"
            quietCaption
            columns={columns}
            rows={people.data.people}
            keyOf={(person) => person.name}
            locale={units.locale}
          />
        ) : (
          <Empty title="Nobody is listed yet." />
        ))}
      {mayChange && !adding && (
        <Actions>
          <ButtonLink kind="main" to={withQuery(paths.people, { add: "yes" })}>
            Add a person
          </ButtonLink>
        </Actions>
      )}
      {mayChange && adding && (
        <Part title="Add a person">
          <AddPerson
            branches={branches}
            onAdded={(person) => {
              changed(`${person.title} was added and can sign in as ${person.email}.`);
              go(paths.people, { replace: true });
            }}
            onLeave={() => go(paths.people, { replace: true })}
          />
        </Part>
      )}
      <EndSessions person={ending} self={me.name} onClose={() => setEnding(null)} onEnded={changed} />
    </Screen>
  );
}

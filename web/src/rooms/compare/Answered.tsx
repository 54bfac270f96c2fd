// Answered stands where an answer will: why it did not come, that it is on its way, or the answer.
import type { UseQueryResult } from "@tanstack/react-query";
import type { ReactNode } from "react";
import { faultOf } from "../../app/fault.ts";
import { Failure } from "../../kit/Notice.tsx";
import { Loading, Status } from "../../kit/Waiting.tsx";

type AnsweredProps<T> = {
  query: UseQueryResult<T, unknown>;
  /** What is waited for: "the comparison". */
  what: string;
  /** Heading where it did not come: "The branches could not be compared". */
  failed: string;
  children: (data: T) => ReactNode;
};

export function Answered<T>({ query, what, failed, children }: AnsweredProps<T>) {
  return (
    <>
      {query.error != null && (
        <Failure
          fault={faultOf(query.error)}
          title={failed}
          onRetry={() => void query.refetch()}
          retrying={query.isFetching}
        />
      )}
      {query.isPending && query.fetchStatus !== "idle" && <Loading what={what} rows={8} />}
      {query.data !== undefined && (
        <>
          <Status>{query.isPlaceholderData && query.isFetching ? "Working out what you chose…" : ""}</Status>
          {children(query.data)}
        </>
      )}
    </>
  );
}

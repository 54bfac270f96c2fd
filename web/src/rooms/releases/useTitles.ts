import { useQuery } from "@connectrpc/connect-query";
import { useMemo } from "react";
import { lastPart } from "../../app/paths.ts";
import { BranchesService } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import type { Titles } from "./writing.ts";

/** useTitles names records and branches as people do; until they are known, by the last part of their name. */
export function useTitles(): Titles {
  const records = useQuery(CatalogService.method.listRecords, {}).data;
  const branches = useQuery(BranchesService.method.listBranches, {}).data;
  return useMemo(() => {
    const known = new Map([
      ...(records?.records ?? []).map(({ record, newest }) => [record, newest?.title] as const),
      ...(branches?.branches ?? []).map(({ name, title }) => [name, title] as const),
    ]);
    return (name) => known.get(name) || lastPart(name);
  }, [records, branches]);
}

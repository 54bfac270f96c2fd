import { useMutation } from "@connectrpc/connect-query";
import { useEffect } from "react";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";

const told = new Set<string>();

/** useOpened tells head office once that somebody here looked at a card of a release; 0 is none. */
export function useOpened(branch: string, release: bigint): void {
  const { mutate } = useMutation(CatalogService.method.noteOpened);
  useEffect(() => {
    const key = `${branch} ${release}`;
    if (release === 0n || told.has(key)) return;
    told.add(key);
    // Where it does not arrive, the next card that is opened says it.
    mutate({ branch, release }, { onError: () => told.delete(key) });
  }, [branch, release, mutate]);
}

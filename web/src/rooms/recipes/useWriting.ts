import { useMutation, useQuery } from "@connectrpc/connect-query";
import { useEffect, useState, useSyncExternalStore } from "react";
import { faultOf } from "../../app/fault.ts";
import { personWords } from "../../app/paths.ts";
import { mayWrite } from "../../app/roles.ts";
import { usePerson } from "../../app/session.tsx";
import { DeskService, type Draft } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { closed, isDirty, type Keeper, keeperOf, type Way, type Writing } from "./keeper.ts";
import { rememberUnsent, unsentOf } from "./unsent.ts";

/** How long nothing must be typed before it is saved, and how long to wait where the service is away. */
const pauses = { typing: 1_200, "trying again": 8_000 };

/** useWriting opens a draft to be written in, and saves what is left when the screen goes. */
export function useWriting(opened: Draft): [Writing, Keeper] {
  const person = usePerson();
  const update = useMutation(DeskService.method.updateDraft);
  const reread = useQuery(DeskService.method.getDraft, { name: opened.name }, { enabled: false });
  const [keeper] = useState(() => {
    const { name } = opened;
    const way: Way = {
      async update({ content, paths, etag, reason }) {
        const { draft } = await update.mutateAsync({ name, content, updateMask: { paths }, etag, reason });
        if (!draft) throw new Error("the service sent no draft");
        return draft;
      },
      async read() {
        const { data } = await reread.refetch({ throwOnError: true });
        if (!data?.draft) throw new Error("the service sent no draft");
        return data.draft;
      },
      faultOf,
      after(pause, run) {
        const timer = setTimeout(run, pauses[pause]);
        return () => clearTimeout(timer);
      },
      remember: (unsent) => rememberUnsent(name, person.name, unsent),
      nameOf: personWords,
    };
    const left = closed(opened) || !mayWrite(person) ? null : unsentOf(name, person.name);
    // What was left over an older state starts from that state: the service then says that it moved on.
    return keeperOf(left && left.base.etag !== opened.etag ? left.base : opened, way, left ?? undefined);
  });
  const writing = useSyncExternalStore(keeper.listen, keeper.value);
  const dirty = isDirty(writing);

  useEffect(() => {
    const again = () => keeper.value().keeping.state === "not saved" && keeper.leave();
    window.addEventListener("online", again);
    return () => {
      window.removeEventListener("online", again);
      keeper.leave();
    };
  }, [keeper]);
  useEffect(() => {
    if (!dirty) return;
    const warn = (event: BeforeUnloadEvent) => event.preventDefault();
    window.addEventListener("beforeunload", warn);
    return () => window.removeEventListener("beforeunload", warn);
  }, [dirty]);
  useKeys(keeper);
  return [writing, keeper];
}

/** useKeys: Ctrl+S saves, Ctrl+Z takes back, Ctrl+Shift+Z and Ctrl+Y make it once more. */
function useKeys(keeper: Keeper) {
  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
      const key = event.key.toLowerCase();
      const act =
        key === "s"
          ? keeper.save
          : key === "y" || (key === "z" && event.shiftKey)
            ? keeper.redo
            : key === "z"
              ? keeper.undo
              : null;
      // Long texts that are no field of the record keep the browser's own undo.
      if (!act || (key !== "s" && event.target instanceof Element && event.target.closest("[data-own-undo]")))
        return;
      event.preventDefault();
      void act();
    };
    window.addEventListener("keydown", onKey);
    return () => window.removeEventListener("keydown", onKey);
  }, [keeper]);
}

import { create } from "@bufbuild/protobuf";
import { Code, ConnectError } from "@connectrpc/connect";
import { describe, expect, it } from "vitest";
import { FaultSchema } from "../proto/evenpeel/record/v1/fault_pb.ts";
import { faultOf } from "./fault.ts";

describe("faultOf", () => {
  it("shows the server's own words, all fields at once, and the reference", () => {
    const detail = create(FaultSchema, {
      kind: "INVALID",
      room: "recipes",
      reason: "DRAFT_INVALID",
      words: "Two settings are wrong.",
      fields: [
        { path: "press.dwell_seconds", words: "At least 1 s." },
        { path: "press.pressure_kpa", words: "At most 600 kPa." },
      ],
      facts: [{ key: "limit", value: "600" }],
      reference: "7F3A",
    });
    const error = new ConnectError("no", Code.InvalidArgument, undefined, [
      { desc: FaultSchema, value: detail },
    ]);
    expect(faultOf(error)).toEqual({
      kind: "INVALID",
      room: "recipes",
      reason: "DRAFT_INVALID",
      words: "Two settings are wrong.",
      fields: [
        { path: "press.dwell_seconds", words: "At least 1 s." },
        { path: "press.pressure_kpa", words: "At most 600 kPa." },
      ],
      facts: new Map([["limit", "600"]]),
      reference: "7F3A",
    });
  });
  it("keeps the words of a kind it does not know", () => {
    const detail = create(FaultSchema, { kind: "TOMORROW", words: "Come back tomorrow." });
    const error = new ConnectError("no", Code.Unknown, undefined, [{ desc: FaultSchema, value: detail }]);
    expect(faultOf(error)).toMatchObject({ kind: "BROKEN", words: "Come back tomorrow." });
  });
  it.each([
    { error: new ConnectError("x", Code.Unauthenticated), kind: "NOT_SIGNED_IN" },
    { error: new ConnectError("x", Code.PermissionDenied), kind: "NOT_ALLOWED" },
    { error: new ConnectError("x", Code.Unavailable), kind: "UNAVAILABLE" },
    { error: new ConnectError("x", Code.ResourceExhausted), kind: "TOO_LARGE" },
    { error: ConnectError.from(new TypeError("Failed to fetch")), kind: "UNREACHED" },
    { error: new Error("a slip of ours"), kind: "BROKEN" },
  ])("says $kind where the server sent no detail", ({ error, kind }) => {
    expect(faultOf(error).kind).toBe(kind);
  });
});

// Whether a certificate holds on a day. Both ends count; an empty last day is open.
import type { Certificate } from "../../proto/evenpeel/record/v1/record_pb.ts";

export const dayMs = 86_400_000;
/** Long enough to order a new test; common practice, no source. */
const soonDays = 60;

export type Validity =
  | { state: "not yet"; days: number }
  | { state: "holds"; days: number | null }
  | { state: "ends soon"; days: number }
  | { state: "ended"; days: number };

/** instantOf reads "YYYY-MM-DD" as midnight UTC; null where it is empty or no day. */
export function instantOf(day: string): number | null {
  if (!/^\d{4}-\d{2}-\d{2}$/.test(day)) return null;
  const at = Date.parse(`${day}T00:00:00Z`);
  return Number.isNaN(at) ? null : at;
}

/** validityOf judges a certificate at the instant `now`, in whole days. */
export function validityOf(certificate: Certificate, now: number): Validity {
  const today = Math.floor(now / dayMs);
  const from = instantOf(certificate.validFrom);
  const until = instantOf(certificate.validUntil);
  if (from !== null && from / dayMs > today) return { state: "not yet", days: from / dayMs - today };
  if (until === null) return { state: "holds", days: null };
  const left = until / dayMs - today;
  if (left < 0) return { state: "ended", days: -left };
  return left <= soonDays ? { state: "ends soon", days: left } : { state: "holds", days: left };
}

/** validityWords writes it for a table. */
export function validityWords(validity: Validity): string {
  switch (validity.state) {
    case "not yet":
      return `not yet: begins in ${days(validity.days)}`;
    case "holds":
      return validity.days === null ? "holds, open end" : `holds, ${days(validity.days)} left`;
    case "ends soon":
      return validity.days === 0 ? "ends today" : `ends soon: ${days(validity.days)} left`;
    case "ended":
      return `ended ${days(validity.days)} ago`;
  }
}

const days = (count: number) => (count === 1 ? "1 day" : `${count} days`);

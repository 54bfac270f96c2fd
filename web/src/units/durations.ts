// Times as a workshop says them.
import type { Milliseconds, Seconds } from "./quantities.ts";

const space = "\u00a0";

/** showDuration writes "12 s", "1 min 40 s", "3 h 5 min", "12 d 4 h": never more than two parts. */
export function showDuration(seconds: Seconds): string {
  const total = Math.round(Math.abs(seconds));
  const parts: [number, string][] = [
    [Math.floor(total / 86_400), "d"],
    [Math.floor(total / 3_600) % 24, "h"],
    [Math.floor(total / 60) % 60, "min"],
    [total % 60, "s"],
  ];
  const first = parts.findIndex(([count]) => count > 0);
  if (first < 0) return `0${space}s`;
  const words = parts
    .slice(first, first + 2)
    .filter(([count]) => count > 0)
    .map(([count, unit]) => count + space + unit);
  return (seconds < 0 ? "\u2212" : "") + words.join(" ");
}

/** showClock writes "0:09", "12:40", "1:02:05", rounding up, so that 0:00 means that the time is over. */
export function showClock(left: Milliseconds | number): string {
  const total = Math.max(0, Math.ceil(left / 1000));
  const hours = Math.floor(total / 3600);
  const minutes = Math.floor(total / 60) % 60;
  const two = (part: number) => String(part).padStart(2, "0");
  return hours > 0 ? `${hours}:${two(minutes)}:${two(total % 60)}` : `${minutes}:${two(total % 60)}`;
}

/** showAge writes how long ago an instant was: "just now", "4 min old", "3 h old", "12 d old". */
export function showAge(instant: number, now: number): string {
  const seconds = Math.max(0, Math.floor((now - instant) / 1000));
  if (seconds < 60) return "just now";
  if (seconds < 3_600) return `${Math.floor(seconds / 60)}${space}min old`;
  if (seconds < 172_800) return `${Math.floor(seconds / 3_600)}${space}h old`;
  return `${Math.floor(seconds / 86_400)}${space}d old`;
}

/** showInstant writes date, time and zone; an effective instant without its zone has misled people before. */
export function showInstant(instant: number, locale: string, zone?: string): string {
  return new Intl.DateTimeFormat(locale, {
    year: "numeric",
    month: "short",
    day: "numeric",
    hour: "2-digit",
    minute: "2-digit",
    hourCycle: "h23",
    timeZoneName: "short",
    ...(zone ? { timeZone: zone } : {}),
  }).format(instant);
}

/** showDay writes "11 Jan 2027". */
export function showDay(instant: number, locale: string, zone?: string): string {
  const options = {
    year: "numeric",
    month: "short",
    day: "numeric",
    ...(zone ? { timeZone: zone } : {}),
  } as const;
  return new Intl.DateTimeFormat(locale, options).format(instant);
}

/** showDate writes a day that has no time and no zone, "2027-01-11", as "11 Jan 2027"; other words stay as they are. */
export function showDate(day: string, locale: string): string {
  const instant = /^\d{4}-\d{2}-\d{2}$/.test(day) ? Date.parse(`${day}T00:00:00Z`) : Number.NaN;
  return Number.isNaN(instant) ? day : showDay(instant, locale, "UTC");
}

/** showMoment writes "11 Jan, 06:00" for lists of what happened here lately; the year and the zone go without saying. */
export function showMoment(instant: number, locale: string): string {
  const options = {
    month: "short",
    day: "numeric",
    hour: "2-digit",
    minute: "2-digit",
    hourCycle: "h23",
  } as const;
  return new Intl.DateTimeFormat(locale, options).format(instant);
}

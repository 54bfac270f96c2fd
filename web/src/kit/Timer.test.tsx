import { act, cleanup, fireEvent, render, screen } from "@testing-library/react";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { milliseconds } from "../units/quantities.ts";
import { surroundings } from "./surroundings.ts";
import { Timer } from "./Timer.tsx";

const begin = Date.UTC(2027, 0, 11, 6, 0, 0);
const request = vi.fn();
const vibrate = vi.fn();

beforeEach(() => {
  vi.useFakeTimers({ now: begin });
  surroundings.set({ ...surroundings.value(), sound: false });
  request.mockReset().mockResolvedValue({ release: () => Promise.resolve() });
  vibrate.mockReset();
  Object.defineProperty(navigator, "wakeLock", { value: { request }, configurable: true });
  Object.defineProperty(navigator, "vibrate", { value: vibrate, configurable: true });
});
afterEach(() => {
  cleanup();
  vi.useRealTimers();
});

const pass = (ms: number) => act(() => vi.advanceTimersByTimeAsync(ms));
const clock = () => screen.getByRole("timer").textContent;
const press = (onDismiss = vi.fn()) => {
  const length = milliseconds(12_000);
  render(<Timer name="Press" ends={begin + length} length={length} atEnd="open now" onDismiss={onDismiss} />);
  return onDismiss;
};

describe("Timer", () => {
  it("counts down to its instant and then says how late it is", async () => {
    press();
    expect(clock()).toBe("0:12");
    await pass(9_000);
    expect(clock()).toBe("0:03");
    await pass(10_000);
    expect(clock()).toBe("passed 0:07");
  });
  it("tells the truth after a sleep without ticks", async () => {
    press();
    vi.setSystemTime(begin + 72_000);
    await act(async () => document.dispatchEvent(new Event("visibilitychange")));
    expect(clock()).toBe("passed 1:00");
  });
  it("rings until it is dismissed, and hands over how late that was", async () => {
    const onDismiss = press();
    await pass(12_200);
    const first = vibrate.mock.calls.length;
    expect(first).toBeGreaterThan(0);
    await pass(4_800);
    expect(vibrate.mock.calls.length).toBeGreaterThan(first);
    fireEvent.click(screen.getByRole("button", { name: "Stop the bell" }));
    expect(onDismiss).toHaveBeenCalledWith(5_000);
  });
  it("is silent as a timer, and says start and end aloud", async () => {
    press();
    await pass(200);
    expect(screen.getByRole("status").textContent).toBe("Press: 0:12");
    await pass(12_000);
    expect(screen.getByRole("status").textContent).toBe("Press: open now");
  });
  it("takes the wake lock again each time the page comes back", async () => {
    press();
    await pass(0);
    expect(request).toHaveBeenCalledTimes(1);
    await act(async () => document.dispatchEvent(new Event("visibilitychange")));
    await act(async () => document.dispatchEvent(new Event("visibilitychange")));
    expect(request).toHaveBeenCalledTimes(3);
  });
  it("says so when the screen can not be kept on", async () => {
    request.mockRejectedValue(new DOMException("low power", "NotAllowedError"));
    press();
    await pass(0);
    expect(screen.getByText(/may go dark/)).toBeTruthy();
  });
});

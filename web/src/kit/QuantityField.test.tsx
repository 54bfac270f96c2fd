import { cleanup, fireEvent, render, screen } from "@testing-library/react";
import { useState } from "react";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { unitChoice, usualIn } from "../units/choice.ts";
import { type Celsius, celsius } from "../units/quantities.ts";
import { QuantityField } from "./QuantityField.tsx";

const allowed = { low: celsius(90), high: celsius(220), reason: "what the press can hold" };
let kept: number | null;
let reading: string;

function Form({ from }: { from: Celsius | null }) {
  const [value, setValue] = useState<Celsius | null>(from);
  kept = value;
  return (
    <QuantityField
      label="Platen"
      quantity="temperature"
      value={value}
      onChange={(next, how) => {
        setValue(next);
        reading = how;
      }}
      allowed={allowed}
      steppers
    />
  );
}

const input = () => screen.getByLabelText("Platen") as HTMLInputElement;
function type(text: string) {
  fireEvent.change(input(), { target: { value: text } });
  fireEvent.blur(input());
}

beforeEach(() => unitChoice.set({ ...usualIn("en-GB"), locale: "en-GB" }));
afterEach(cleanup);

describe("QuantityField", () => {
  it("never clamps: what is outside the range stays, is kept, and is said to be outside", () => {
    render(<Form from={celsius(150)} />);
    type("999");
    expect(input().value).toBe("999");
    expect(kept).toBe(999);
    expect(input().getAttribute("aria-invalid")).toBe("true");
    expect(screen.getByText("999 is outside 90 to 220 °C.")).toBeTruthy();
  });
  it("never clamps by stepping either", () => {
    render(<Form from={celsius(220)} />);
    fireEvent.click(screen.getByRole("button", { name: "More: Platen" }));
    expect(input().value).toBe("221");
    expect(kept).toBe(221);
  });
  it("says the range with its reason", () => {
    render(<Form from={null} />);
    expect(screen.getByText("Allowed 90 to 220 °C: what the press can hold.")).toBeTruthy();
  });
  it("keeps what can not be read, tells it from nothing, and hands over no number", () => {
    render(<Form from={celsius(150)} />);
    type("15O");
    expect(input().value).toBe("15O");
    expect([kept, reading]).toEqual([null, "unreadable"]);
    expect(input().getAttribute("aria-invalid")).toBe("true");
    type("");
    expect([kept, reading]).toEqual([null, "empty"]);
    expect(input().getAttribute("aria-invalid")).toBeNull();
  });
  it("does not complain while it is being typed in", () => {
    render(<Form from={celsius(150)} />);
    fireEvent.change(input(), { target: { value: "1" } });
    expect(input().getAttribute("aria-invalid")).toBeNull();
    fireEvent.blur(input());
    expect(input().getAttribute("aria-invalid")).toBe("true");
  });
  it("echoes what was typed in another unit and says what is kept", () => {
    unitChoice.set({ ...usualIn("en-US"), locale: "en-US" });
    render(<Form from={celsius(150)} />);
    expect(input().value).toBe("302");
    type("301");
    expect(input().value).toBe("301");
    expect(kept).toBe(149);
    expect(screen.getByText("Kept as 300 °F, the nearest whole step.")).toBeTruthy();
  });
  it("reads the decimal sign of the person's language", () => {
    unitChoice.set({ ...usualIn("de-DE"), locale: "de-DE" });
    render(<Form from={null} />);
    type("150,0");
    expect(kept).toBe(150);
  });
  it("moves by arrow keys", () => {
    render(<Form from={celsius(150)} />);
    fireEvent.keyDown(input(), { key: "ArrowUp" });
    fireEvent.keyDown(input(), { key: "PageDown" });
    expect(kept).toBe(141);
  });
});

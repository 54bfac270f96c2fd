import { cleanup, fireEvent, render, screen } from "@testing-library/react";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { unitChoice, usualIn } from "../units/choice.ts";
import { Picture } from "./Picture.tsx";
import * as saving from "./saving.ts";

afterEach(cleanup);
beforeEach(() => unitChoice.set({ ...usualIn("de-DE"), locale: "de-DE" }));

function funnel() {
  render(
    <Picture
      finding="1 of 2 branches differs by more than chance"
      name="fair"
      height={() => 200}
      numbers={{
        columns: [{ words: "Branch" }, { words: "Reprints (%)", digits: 1 }],
        rows: [
          ["Harbour St", 6.28],
          ["Mill Lane", null],
        ],
      }}
    >
      {() => null}
    </Picture>,
  );
}

describe("Picture", () => {
  it("is titled by its finding and has its numbers behind it", () => {
    funnel();
    expect(screen.getByRole("figure", { name: "1 of 2 branches differs by more than chance" })).toBeTruthy();
    const cells = screen.getAllByRole("cell", { hidden: true }).map((cell) => cell.textContent);
    expect(cells).toEqual(["Harbour St", "6,3", "Mill Lane", "–"]);
  });
  it("saves its numbers as CSV for machines and says so", async () => {
    const saved = vi.spyOn(saving, "saveFile").mockImplementation(() => undefined);
    funnel();
    fireEvent.click(screen.getByRole("button", { name: "CSV for machines" }));
    expect(saved).toHaveBeenCalledOnce();
    const [name, file] = saved.mock.calls[0] ?? [];
    expect(name).toBe("fair.csv");
    expect(await file?.text()).toBe("Branch,Reprints (%)\r\nHarbour St,6.28\r\nMill Lane,\r\n");
    expect(screen.getByRole("status").textContent).toBe("Saved fair.csv");
  });
});

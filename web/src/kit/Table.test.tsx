import { cleanup, fireEvent, render, screen } from "@testing-library/react";
import { afterEach, describe, expect, it } from "vitest";
import { Table } from "./Table.tsx";

afterEach(cleanup);
type Row = { name: string; pieces: number };

describe("Table", () => {
  it("sorts by its headings and says how", () => {
    render(
      <Table<Row>
        caption="Branches"
        columns={[
          { key: "name", words: "Branch", cell: (row) => row.name, sortBy: (row) => row.name, heads: true },
          {
            key: "pieces",
            words: "Pieces",
            cell: (row) => row.pieces,
            sortBy: (row) => row.pieces,
            figure: true,
          },
        ]}
        rows={[
          { name: "b", pieces: 2 },
          { name: "a", pieces: 10 },
        ]}
        keyOf={(row) => row.name}
      />,
    );
    const order = () => screen.getAllByRole("rowheader").map((cell) => cell.textContent);
    expect(order()).toEqual(["b", "a"]);
    fireEvent.click(screen.getByRole("button", { name: "Branch" }));
    expect(order()).toEqual(["a", "b"]);
    fireEvent.click(screen.getByRole("button", { name: "Pieces" }));
    expect(order()).toEqual(["b", "a"]);
    const sorted = () => screen.getByRole("columnheader", { name: /Pieces/ }).getAttribute("aria-sort");
    expect(sorted()).toBe("ascending");
    fireEvent.click(screen.getByRole("button", { name: /Pieces/ }));
    expect(sorted()).toBe("descending");
    expect(order()).toEqual(["a", "b"]);
  });
});

// Table is a real table: read by row and column, sorted by its headings, printed with them on every sheet.
import { type ReactNode, useState } from "react";
import { classes } from "./classes.ts";
import styles from "./Table.module.css";

export type Column<Row> = {
  /** Stable name, also the value of `sort`. */
  key: string;
  words: ReactNode;
  cell: (row: Row) => ReactNode;
  /** Makes the column sortable; text is compared as the locale does. */
  sortBy?: (row: Row) => number | string | bigint;
  /** Figures stand at the end of the cell, under each other. */
  figure?: boolean;
  /** The heading of its row. One column has it. */
  heads?: boolean;
};

export type Sort = { key: string; down: boolean };

type TableProps<Row> = {
  /** What the table lists; shown above it unless `quietCaption`. */
  caption: ReactNode;
  quietCaption?: boolean;
  columns: readonly Column<Row>[];
  rows: readonly Row[];
  keyOf: (row: Row) => string;
  /** Hand sort in and out to keep it in the address; left out, the table keeps it itself. */
  sort?: Sort | null;
  onSort?: (sort: Sort) => void;
  /** Locale for comparing text. */
  locale?: string;
  /** Words when there are no rows. */
  empty?: ReactNode;
  /** Rows that stand out, by a bar at their start and a word of yours in a cell. */
  marked?: (row: Row) => boolean;
};

/** Table lists rows. Wide tables scroll inside their own frame, which can be reached with the keyboard. */
export function Table<Row>(props: TableProps<Row>) {
  const { caption, quietCaption, columns, rows, keyOf, locale, empty, marked } = props;
  const [kept, setKept] = useState<Sort | null>(null);
  const sort = props.sort === undefined ? kept : props.sort;
  const onSort = props.onSort ?? setKept;
  const sorted = sort ? sortRows(rows, columns, sort, locale) : rows;
  return (
    <section
      className={styles.frame}
      tabIndex={0}
      aria-label={typeof caption === "string" ? caption : "Table"}
    >
      <table className={styles.table}>
        <caption className={classes(styles.caption, quietCaption && "unseen")}>{caption}</caption>
        <thead>
          <tr>
            {columns.map((column) => (
              <th
                key={column.key}
                scope="col"
                className={classes(column.figure && styles.figure)}
                aria-sort={sort?.key === column.key ? (sort.down ? "descending" : "ascending") : undefined}
              >
                {column.sortBy ? (
                  <button
                    type="button"
                    className={styles.sorter}
                    onClick={() => onSort({ key: column.key, down: sort?.key === column.key && !sort.down })}
                  >
                    {column.words}
                    {sort?.key === column.key && <span aria-hidden="true">{sort.down ? " ↓" : " ↑"}</span>}
                  </button>
                ) : (
                  column.words
                )}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {sorted.map((row) => (
            <tr key={keyOf(row)} className={classes(marked?.(row) && styles.marked)}>
              {columns.map((column) =>
                column.heads ? (
                  <th key={column.key} scope="row" className={classes(column.figure && styles.figure)}>
                    {column.cell(row)}
                  </th>
                ) : (
                  <td key={column.key} className={classes(column.figure && styles.figure)}>
                    {column.cell(row)}
                  </td>
                ),
              )}
            </tr>
          ))}
          {rows.length === 0 && (
            <tr>
              <td colSpan={columns.length}>{empty ?? "Nothing here yet."}</td>
            </tr>
          )}
        </tbody>
      </table>
    </section>
  );
}

function sortRows<Row>(rows: readonly Row[], columns: readonly Column<Row>[], sort: Sort, locale?: string) {
  const by = columns.find((column) => column.key === sort.key)?.sortBy;
  if (!by) return rows;
  const collator = new Intl.Collator(locale, { numeric: true });
  const order = (a: Row, b: Row) => {
    const [x, y] = [by(a), by(b)];
    if (typeof x === "string" || typeof y === "string") return collator.compare(String(x), String(y));
    return x < y ? -1 : x > y ? 1 : 0;
  };
  return rows.toSorted((a, b) => (sort.down ? order(b, a) : order(a, b)));
}

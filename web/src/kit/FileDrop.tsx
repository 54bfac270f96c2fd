// FileDrop takes a file that is dropped on it, or chosen by a plain button: dragging always has a click way.
import { type ReactNode, useId, useRef, useState } from "react";
import { Button } from "./Button.tsx";
import { classes } from "./classes.ts";
import styles from "./FileDrop.module.css";

type FileDropProps = {
  label: string;
  hint?: ReactNode;
  /** As in the accept attribute: ".svg,image/svg+xml". */
  accept: string;
  /** Largest file in bytes; a larger one is refused in words. */
  mostBytes: number;
  onFile: (file: File) => void;
  fault?: string | undefined;
  /** Name of the file already chosen. */
  chosen?: string | undefined;
};

/** FileDrop hands over one file, after looking at its size only. What is in it is for the caller to judge. */
export function FileDrop({ label, hint, accept, mostBytes, onFile, fault, chosen }: FileDropProps) {
  const [over, setOver] = useState(false);
  const [refused, setRefused] = useState("");
  const input = useRef<HTMLInputElement>(null);
  const id = useId();

  function take(file: File | undefined) {
    if (!file) return;
    if (file.size > mostBytes) {
      const mebibytes = (bytes: number) => (bytes / 2 ** 20).toFixed(1);
      setRefused(
        `${file.name} has ${mebibytes(file.size)} MiB; at most ${mebibytes(mostBytes)} MiB can be taken.`,
      );
      return;
    }
    setRefused("");
    onFile(file);
  }
  const wrong = refused || fault;
  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: dropping is a second way; the button inside is the first
    <div
      className={classes(styles.drop, over && styles.over, wrong && styles.wrong)}
      onDragOver={(event) => {
        event.preventDefault();
        setOver(true);
      }}
      onDragLeave={() => setOver(false)}
      onDrop={(event) => {
        event.preventDefault();
        setOver(false);
        take(event.dataTransfer.files[0]);
      }}
    >
      <p className={styles.label} id={id}>
        {chosen ?? label}
      </p>
      {hint && <small>{hint}</small>}
      {wrong && (
        <p className={styles.fault} role="alert">
          {wrong}
        </p>
      )}
      <Button onClick={() => input.current?.click()}>
        {chosen ? "Choose another file" : "Choose a file"}
      </Button>
      <span className={styles.or}>or drop it here</span>
      <input
        ref={input}
        type="file"
        hidden
        accept={accept}
        aria-labelledby={id}
        onChange={(event) => {
          take(event.target.files?.[0]);
          event.target.value = ""; // the same file chosen again counts again
        }}
      />
    </div>
  );
}

// Dialog is the browser's own: it holds the focus, closes on Esc and gives the focus back.
import { type ReactNode, useEffect, useId, useRef } from "react";
import styles from "./Dialog.module.css";

type DialogProps = {
  open: boolean;
  /** Called on Esc, on the close button and by the browser's back gesture. */
  onClose: () => void;
  /** The question. */
  title: ReactNode;
  children: ReactNode;
  /** Buttons; the main one first. */
  actions?: ReactNode;
};

/** Dialog asks one question over the screen. Use it seldom: most things deserve a place on the screen. */
export function Dialog({ open, onClose, title, children, actions }: DialogProps) {
  const element = useRef<HTMLDialogElement>(null);
  const id = useId();
  useEffect(() => {
    const dialog = element.current;
    if (!dialog) return;
    if (open && !dialog.open) dialog.showModal();
    if (!open && dialog.open) dialog.close();
  }, [open]);
  return (
    <dialog ref={element} className={styles.dialog} aria-labelledby={id} onClose={onClose}>
      {open && (
        <div className={styles.inside}>
          <h2 id={id}>{title}</h2>
          {children}
          <div className={styles.actions}>
            {actions}
            <button type="button" className={styles.close} onClick={onClose}>
              Close
            </button>
          </div>
        </div>
      )}
    </dialog>
  );
}

import { Part } from "../../kit/Screen.tsx";
import type { Content } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { inside, valueIn, withValue } from "./content.ts";
import styles from "./Draft.module.css";
import { FieldInput } from "./FieldInput.tsx";
import type { Field } from "./fields.ts";

// Tall or wide inputs take a row of their own, so that those beside them stay in line.
const wide: ReadonlySet<Field["as"]> = new Set(["rows", "lines", "kind"]);

type ContentFormProps = { content: Content; onChange: (next: Content) => void };

/** ContentForm asks for every field of a record, group by group. */
export function ContentForm({ content, onChange }: ContentFormProps) {
  const { fields } = inside(content);
  const groups = [...new Set(fields.map((field) => field.group))];
  return groups.map((group) => (
    <Part key={group} title={group}>
      <div className={styles.fields}>
        {fields
          .filter((field) => field.group === group)
          .map((field) => (
            <div key={field.path} className={wide.has(field.as) ? styles.whole : undefined}>
              <FieldInput
                field={field}
                path={field.path}
                value={valueIn(content, field.path)}
                onChange={(value) => onChange(withValue(content, field.path, value))}
              />
            </div>
          ))}
      </div>
    </Part>
  ));
}

import { useUnits } from "../../kit/choices.ts";
import { Figure, Figures } from "../../kit/Screen.tsx";
import type { Setting } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import styles from "./bench.module.css";
import { dialNumber, settingNote, settingWords } from "./dials.ts";

/** DialFigures shows what to dial, large, and what that gives; a setting that can not be held is filled and says why. */
export function DialFigures({ settings, brief }: { settings: readonly Setting[]; brief?: boolean }) {
  const units = useUnits();
  return (
    <Figures>
      {settings.map((setting) => (
        <Figure
          key={setting.key}
          words={settingWords(setting.key)}
          number={setting.refusal ? "–" : dialNumber(setting, units.locale)}
          {...(setting.refusal ? {} : { unit: setting.scale })}
          note={
            (setting.refusal !== "" || !brief) && (
              <span className={styles.note}>{setting.refusal || settingNote(setting, units)}</span>
            )
          }
          hot={setting.refusal !== ""}
        />
      ))}
    </Figures>
  );
}

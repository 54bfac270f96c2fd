import { useEffect, useRef } from "react";
import { Button } from "../../kit/Button.tsx";
import { ring } from "../../kit/bell.ts";
import { useSurroundings, useUnits } from "../../kit/choices.ts";
import { Checkbox, Choice, Select } from "../../kit/Field.tsx";
import { Figure, Figures, Part, Screen } from "../../kit/Screen.tsx";
import { type Surroundings, surroundings, targetSizes } from "../../kit/surroundings.ts";
import { locales, type UnitChoice, unitChoice } from "../../units/choice.ts";
import { showMoney } from "../../units/money.ts";
import {
  celsius,
  gramsForce,
  kilopascals,
  millimetres,
  millimetresPerSecond,
} from "../../units/quantities.ts";
import styles from "./Settings.module.css";

const bellMs = 1_200; // one pair of tones

/** Settings changes at once, here and in this browser only; there is nothing to save. */
export default function Settings() {
  const units = useUnits();
  const light = useSurroundings();
  const choose = (change: Partial<UnitChoice>) => unitChoice.set({ ...unitChoice.value(), ...change });
  const arrange = (change: Partial<Surroundings>) => surroundings.set({ ...surroundings.value(), ...change });
  return (
    <Screen
      question="How should numbers, light and sound be here?"
      lead="Changes hold at once, in this browser only. What is stored and sent stays the same."
    >
      <Figures>
        <Figure words="Temperature" {...partsOf(units.parts("temperature", celsius(150)))} />
        <Figure words="Pressure" {...partsOf(units.parts("pressure", kilopascals(280)))} />
        <Figure words="Film width" {...partsOf(units.parts("length", millimetres(500)))} />
        <Figure words="Price" number={showMoney({ minor: 1234550n, currency: "EUR" }, units.locale)} />
      </Figures>

      <Part title="Numbers and units">
        <div className={styles.columns}>
          <Select
            label="Language of numbers and dates"
            hint="Sets the decimal sign you read and type."
            value={units.choice.locale}
            options={locales.map((tag) => ({ value: tag as string, words: nameOf(tag) }))}
            onChange={(locale) => choose({ locale })}
          />
          <Choice
            label="Temperature"
            row
            value={units.choice.temperature}
            options={[
              { value: "C", words: "°C" },
              { value: "F", words: "°F" },
            ]}
            onChange={(temperature) => choose({ temperature })}
          />
          <Choice
            label="Pressure"
            row
            value={units.choice.pressure}
            options={[
              { value: "bar", words: "bar" },
              { value: "kPa", words: "kPa" },
              { value: "psi", words: "psi" },
            ]}
            onChange={(pressure) => choose({ pressure })}
          />
          <Choice
            label="Lengths and areas"
            row
            value={units.choice.length}
            options={[
              { value: "mm", words: "mm, m" },
              { value: "in", words: "in, ft" },
            ]}
            onChange={(length) => choose({ length })}
          />
          <Choice
            label="Blade force"
            hint={`For example ${units.show("force", gramsForce(120))}`}
            row
            value={units.choice.force}
            options={[
              { value: "gf", words: "gf" },
              { value: "N", words: "N" },
            ]}
            onChange={(force) => choose({ force })}
          />
          <Choice
            label="Cutting speed"
            hint={`For example ${units.show("speed", millimetresPerSecond(300))}`}
            row
            value={units.choice.speed}
            options={[
              { value: "mm/s", words: "mm/s" },
              { value: "cm/s", words: "cm/s" },
              { value: "in/s", words: "in/s" },
            ]}
            onChange={(speed) => choose({ speed })}
          />
        </div>
      </Part>

      <Part title="Light">
        <Choice
          label="Scheme"
          value={light.scheme}
          options={[
            { value: "auto", words: "As this device" },
            { value: "light", words: "Light", hint: "Paper by day" },
            { value: "dark", words: "Dark", hint: "A shop with little light" },
            { value: "bright", words: "Bright light", hint: "A bench by a window: strongest contrast" },
          ]}
          onChange={(scheme) => arrange({ scheme })}
        />
      </Part>

      <Part title="At the bench">
        <Choice
          label="Size of what is touched"
          hint="20 mm suits most hands standing up; take 25 mm with thick gloves."
          row
          value={String(light.targetMm)}
          options={targetSizes.map((mm) => ({ value: String(mm), words: `${mm} mm` }))}
          onChange={(mm) =>
            arrange({ targetMm: targetSizes.find((size) => String(size) === mm) ?? light.targetMm })
          }
        />
        <div data-place="bench" className={styles.preview}>
          <span className={styles.target} aria-hidden="true">
            Next
          </span>
        </div>
        <Checkbox
          label="Timers may sound"
          hint="They always show and shake. Without sound, keep the tablet in sight."
          checked={light.sound}
          onChange={(sound) => arrange({ sound })}
        />
        <TryBell sound={light.sound} />
        <Checkbox
          label="Single letters are keys"
          hint="Switch off if you speak to this device or touch keys by accident."
          checked={light.letterKeys}
          onChange={(letterKeys) => arrange({ letterKeys })}
        />
      </Part>
    </Screen>
  );
}

const partsOf = ({ number, symbol }: { number: string; symbol: string }) => ({ number, unit: symbol });

function nameOf(tag: string): string {
  if (tag === "browser") return "As this browser";
  return new Intl.DisplayNames([tag], { type: "language", languageDisplay: "standard" }).of(tag) ?? tag;
}

function TryBell({ sound }: { sound: boolean }) {
  const stop = useRef<(() => void) | null>(null);
  useEffect(() => () => stop.current?.(), []);
  return (
    <div>
      <Button
        {...(sound ? {} : { because: "Sound is off." })}
        onClick={() => {
          stop.current?.();
          const silence = ring(true);
          const timer = setTimeout(silence, bellMs);
          stop.current = () => {
            clearTimeout(timer);
            silence();
          };
        }}
      >
        Try the bell
      </Button>
    </div>
  );
}

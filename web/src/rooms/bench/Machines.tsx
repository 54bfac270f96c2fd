import { useMutation } from "@connectrpc/connect-query";
import { useQueryClient } from "@tanstack/react-query";
import { useState } from "react";
import { useSearchParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { mayRunBranch } from "../../app/roles.ts";
import { usePerson } from "../../app/session.tsx";
import { Actions, Button } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Hazards } from "../../kit/drawings/Hazard.tsx";
import { Failure } from "../../kit/Notice.tsx";
import { Facts, Part, Screen } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import { Empty, Loading, Status } from "../../kit/Waiting.tsx";
import {
  BranchesService,
  type Dial,
  type Machine,
  MachineKind,
} from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { showDate } from "../../units/durations.ts";
import { formatNumber } from "../../units/numbers.ts";
import { micrometres, millimetres } from "../../units/quantities.ts";
import { CalibrationForm } from "./CalibrationForm.tsx";
import { unitLength } from "./CutterFields.tsx";
import { quantityWords, unitOf } from "./dials.ts";
import { NoBranch } from "./NoBranch.tsx";
import { useSaved } from "./saved.ts";

const question = "What do our machines' dials really give?";

/** Machines lists a branch's cutters and presses with their calibration; its manager may correct it. */
export default function Machines() {
  const { branch } = usePerson();
  return branch === "" ? <NoBranch question={question} /> : <Listed branch={branch} />;
}

function Listed({ branch }: { branch: string }) {
  const person = usePerson();
  const queries = useQueryClient();
  const [search, setSearch] = useSearchParams();
  const [stored, setStored] = useState("");
  const machines = useSaved(BranchesService.method.listMachines, { branch }, `machines:${branch}`);
  const save = useMutation(BranchesService.method.saveMachine);
  const all = machines.data?.machines ?? [];
  const mayEdit = mayRunBranch(person);
  const editing = mayEdit ? search.get("edit") : null;
  return (
    <Screen
      question={question}
      state={{ network: machines.network, ...(machines.asOf === undefined ? {} : { asOf: machines.asOf }) }}
    >
      <Status>{stored}</Status>
      {!machines.data && !machines.fault && <Loading what="the machines" rows={6} />}
      {!machines.data && machines.fault && (
        <Failure
          fault={machines.fault}
          title="The machines could not be loaded"
          onRetry={machines.retry}
          retrying={machines.retrying}
        />
      )}
      {machines.data && all.length === 0 && (
        <Empty title="No machine yet.">
          <p>Without a cutter and a press no card can be worked out. Ask head office to enter them.</p>
        </Empty>
      )}
      {all.map((machine) => (
        <Part
          key={machine.name}
          title={`${machine.kind === MachineKind.CUTTER ? "Cutter" : "Press"}: ${machine.title}`}
        >
          {editing === machine.name ? (
            <>
              <Hazards kinds={machine.kind === MachineKind.CUTTER ? ["blade", "pinch"] : ["hot", "pinch"]} />
              <CalibrationForm
                key={machine.etag}
                machine={machine}
                pending={save.isPending}
                fault={save.error ? faultOf(save.error) : null}
                onSave={async (next) => {
                  await save.mutateAsync({ machine: next });
                  setStored(`Stored: ${next.title}. Cards are worked out anew.`);
                  setSearch({});
                  void queries.invalidateQueries();
                }}
                onLeave={() => {
                  save.reset();
                  setSearch({});
                }}
              />
            </>
          ) : (
            <>
              <MachineFacts machine={machine} />
              {machine.dials.map((dial) => (
                <DialPoints key={dial.quantity} dial={dial} />
              ))}
              {mayEdit && (
                <Actions>
                  <Button onClick={() => setSearch({ edit: machine.name })}>
                    Correct calibration<span className="unseen"> of {machine.title}</span>
                  </Button>
                </Actions>
              )}
            </>
          )}
        </Part>
      ))}
    </Screen>
  );
}

function MachineFacts({ machine }: { machine: Machine }) {
  const units = useUnits();
  const length = (mm: bigint) => units.show("length", millimetres(mm));
  const fine = (um: bigint) => units.show("fineLength", micrometres(um));
  const calibrated = { words: "Calibrated", value: showDate(machine.calibratedOn, units.locale) || "never" };
  if (machine.kind === MachineKind.CUTTER)
    return (
      <Facts
        facts={[
          calibrated,
          { words: "Widest film", value: length(machine.widthMm) },
          { words: "Taken by the rollers", value: `${length(machine.edgeMarginMm)} each side` },
          { words: "Unusable at start, end", value: `${length(machine.leadMm)}, ${length(machine.tailMm)}` },
          {
            words: "Longest cut",
            value: machine.longestCutMm > 0n ? length(machine.longestCutMm) : "no limit",
          },
          {
            words: "Blade offset, overcut",
            value: `${fine(machine.bladeOffsetUm)}, ${fine(machine.overcutUm)}`,
          },
          ...(machine.unitsPerMetre > 0n
            ? [{ words: "One plotter unit", value: unitLength(Number(machine.unitsPerMetre), units.locale) }]
            : []),
          {
            words: "Numbers in HP-GL",
            value: machine.longNumbers
              ? "long (HP-GL/2)"
              : `up to 32767 units: files end at ${length(32_767_000n / (machine.unitsPerMetre || 40_000n))}`,
          },
        ]}
      />
    );
  return (
    <Facts
      facts={[
        calibrated,
        { words: "Platen", value: `${length(machine.platenWidthMm)} × ${length(machine.platenDepthMm)}` },
        { words: "Served by one operator", value: String(machine.count) },
      ]}
    />
  );
}

function DialPoints({ dial }: { dial: Dial }) {
  const { locale } = useUnits();
  const write = (milli: bigint) => formatNumber(Number(milli) / 1000, locale, milli % 1000n === 0n ? 0 : 2);
  const unit = unitOf[dial.quantity];
  const what = quantityWords[dial.quantity];
  if (dial.points.length === 0)
    return (
      <p>
        Dial of {what}: {write(dial.lowMilli)} to {write(dial.highMilli)} {dial.scale}, taken as it shows.
      </p>
    );
  return (
    <Table
      caption={`Dial of ${what}: ${write(dial.lowMilli)} to ${write(dial.highMilli)} ${dial.scale} in steps of ${write(dial.stepMilli)}`}
      rows={dial.points}
      keyOf={(point) => String(point.dialMilli)}
      columns={[
        {
          key: "dial",
          words: `Dial (${dial.scale})`,
          heads: true,
          figure: true,
          cell: (point) => write(point.dialMilli),
        },
        { key: "true", words: `Measured (${unit})`, figure: true, cell: (point) => write(point.trueMilli) },
      ]}
    />
  );
}

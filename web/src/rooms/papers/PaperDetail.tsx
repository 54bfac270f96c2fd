import { useUnits } from "../../kit/choices.ts";
import { Notice } from "../../kit/Notice.tsx";
import { Facts } from "../../kit/Screen.tsx";
import type { Certificate, Note, Words } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { showDate } from "../../units/durations.ts";
import { soldAsText } from "../../units/soldAs.ts";
import type { Paper } from "./usePapers.ts";
import { validityOf, validityWords } from "./validity.ts";

/** PaperDetail shows what one paper says. */
export function PaperDetail({ paper, now }: { paper: Paper; now: number }) {
  return paper.case === "note" ? (
    <NoteDetail note={paper.value} />
  ) : (
    <CertificateDetail {...{ now }} paper={paper.value} />
  );
}

function NoteDetail({ note }: { note: Note }) {
  return (
    <>
      {note.blocks && <Notice kind="block" title={note.reason || "It blocks the order."} />}
      <Facts
        facts={[
          { words: "Market", value: note.market },
          {
            words: "Ages",
            value: note.ageBelowMonths > 0n ? `below ${note.ageBelowMonths} months` : "every age, adults too",
          },
          { words: "Sold as", value: note.soldAs.map(soldAsText).join(", ") || "everything" },
          { words: "Films", value: note.films.join(", ") || "every film" },
          { words: "Papers at hand", value: note.papers.join(", ") || "none" },
          { words: "Words for the label", value: <InLanguages words={note.labels} /> },
          { words: "Cautions at the counter", value: <InLanguages words={note.cautions} /> },
        ]}
      />
    </>
  );
}

function InLanguages({ words }: { words: readonly Words[] }) {
  if (words.length === 0) return "none";
  return words.map((one) => (
    <p key={one.language} lang={one.language}>
      {one.text} <small>({one.language})</small>
    </p>
  ));
}

function CertificateDetail({ paper, now }: { paper: Certificate; now: number }) {
  const units = useUnits();
  const validity = validityOf(paper, now);
  const ending = validity.state === "ended" || validity.state === "ends soon";
  return (
    <>
      {ending && <Notice kind="caution" title={`This paper ${validityWords(validity)}.`} />}
      <Facts
        facts={[
          { words: "Kind", value: paper.kind },
          { words: "Number", value: paper.number },
          { words: "Issued by", value: paper.issuer },
          { words: paper.film ? "Film" : "Garment", value: paper.film || paper.garment },
          { words: "Colours", value: paper.colours.join(", ") || "all" },
          { words: "Lots", value: paper.lots.join(", ") || "all" },
          { words: "Markets", value: paper.markets.join(", ") || "all" },
          {
            words: "First and last day",
            value: `${showDate(paper.validFrom, units.locale)} to ${showDate(paper.validUntil, units.locale) || "open"}`,
          },
          { words: "Standing", value: validityWords(validity) },
          { words: "Covers", value: paper.covers.join(", ") || "not stated" },
          {
            words: "Measured",
            value:
              paper.results
                .map((one) => `${one.quantity} ${units.number(Number(one.valueMilli) / 1000, 3)} ${one.unit}`)
                .join("; ") || "nothing",
          },
        ]}
      />
    </>
  );
}

// Which component records which kind.
import type { JSX } from "preact";
import { ChangeAnswered } from "./answer.tsx";
import { Condition } from "./condition.tsx";
import { DayEnd } from "./dayend.tsx";
import { Finding } from "./finding.tsx";
import { formFor } from "./form.tsx";
import { formed } from "./forms.ts";
import { Found } from "./found.tsx";
import { GapReading } from "./gap.tsx";
import { HandOverSetup } from "./handoversetup.tsx";
import { Jacking } from "./jacking.tsx";
import { Note } from "./note.tsx";
import { Packing } from "./packing.tsx";
import { Photo } from "./photo.tsx";
import { Reading } from "./reading.tsx";
import type { Recording } from "./recording.ts";
import { SafetyCheck } from "./safety.tsx";
import { CloseSetup, SetUp } from "./setup.tsx";
import { SignPlace } from "./signplace.tsx";
import { GoAhead, Stop } from "./stop.tsx";
import { SupportWork } from "./supportwork.tsx";

export const recorders: Record<string, (p: Recording) => JSX.Element> = {
  "reading": Reading,
  "setup": SetUp,
  "setup-closed": CloseSetup,
  "jacking": Jacking,
  "packing": Packing,
  "photo": Photo,
  "support-work": SupportWork,
  "change-answered": ChangeAnswered,
  "condition": Condition,
  "day-end": DayEnd,
  "finding": Finding,
  "found": Found,
  "gap-reading": GapReading,
  "go-ahead": GoAhead,
  "hand-over": HandOverSetup,
  "note": Note,
  "safety-check": SafetyCheck,
  "signed": SignPlace,
  "stop": Stop,
  ...Object.fromEntries(formed.map((kind) => [kind, formFor(kind)])),
};

/** What the list of everything shows, in the order of a job. */
export const inOrder: [kind: string, label: string][] = [
  ["found", "Found below"], ["condition", "Condition of a room"], ["safety-check", "Check safety"], ["tie", "A tie"], ["tie-freed", "A tie freed"],
  ["floor-cut", "Floor cut"], ["finding", "Finding"], ["finding-closed", "Finding closed"], ["support-work", "Work on a support"], ["inspection", "Inspection"],
  ["under-floor", "Under the floor"], ["instrument-check", "Check an instrument"], ["setup", "Set up the laser"], ["hand-over", "Hand a set-up over"], ["setup-closed", "Close the set-up"],
  ["reading", "Read"], ["difference", "Water level"], ["blocking", "Block"], ["blocking-removed", "Blocking away"], ["jacking", "Jack"], ["packing", "Pack"],
  ["gap-reading", "Crack or gap"], ["photo", "Photo"], ["note", "Note or sound"], ["incident", "Incident"], ["stop", "Stop"], ["go-ahead", "Go ahead"],
  ["change", "Agreed change"], ["change-answered", "The owner’s answer"], ["signed", "Sign a room or the floor"], ["floor-closed", "Close a cut"], ["tie-back", "A tie put back"], ["day-end", "End of the day"], ["handover", "Hand-over"],
];

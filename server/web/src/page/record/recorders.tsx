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
export const index: [part: string, kinds: [kind: string, label: string][]][] = [
  ["Before the first lift", [
    ["safety-check", "Check safety"], ["condition", "Condition of a room"], ["found", "Found below"], ["under-floor", "Under the floor"],
    ["tie", "A tie"], ["tie-freed", "A tie freed"], ["floor-cut", "Floor cut"], ["inspection", "Inspection"],
  ]],
  ["What is wrong", [["finding", "Finding"], ["finding-closed", "Finding closed"], ["gap-reading", "Crack or gap"], ["incident", "Incident"], ["stop", "Stop"], ["go-ahead", "Go ahead"]]],
  ["Levels", [["setup", "Set up the laser"], ["hand-over", "Hand a set-up over"], ["setup-closed", "Close the set-up"], ["reading", "Read"], ["difference", "Water level"], ["instrument-check", "Check an instrument"]]],
  ["Lifting", [["jacking", "Jack"], ["packing", "Pack"], ["blocking", "Block"], ["blocking-removed", "Blocking away"], ["support-work", "Work on a support"]]],
  ["To remember", [["photo", "Photo"], ["note", "Note or sound"], ["change", "Agreed change"], ["change-answered", "The owner’s answer"]]],
  ["At the end", [["signed", "Sign a room or the floor"], ["tie-back", "A tie put back"], ["floor-closed", "Close a cut"], ["day-end", "End of the day"], ["handover", "Hand-over"]]],
];

// What was recorded here and the worker has not reckoned yet, as far as the next record
// hangs on it: which set-up is read from. A reading that comes before the picture would
// else be of the set-up before, whose heights are others.
import type { Own } from "../shared/kept.ts";
import type { Picture, Setup } from "../shared/picture.ts";
import type { Bodies } from "./record/bodies.ts";

type OfSetups = Pick<Bodies, "setup" | "setup-closed" | "void">;

/** The picture with the set-ups that were made, closed or voided since, in the order in
 *  which that was recorded. */
export function anticipated(picture: Picture, since: Own[]): Picture {
  const known = picture.setups ?? [];
  const setups = since.reduce(withOne, known);
  return setups === known ? picture : { ...picture, setups };
}

function withOne(setups: Setup[], own: Own): Setup[] {
  const body = own.envelope.body as OfSetups[keyof OfSetups];
  switch (own.kind) {
    case "setup": {
      if (setups.some((s) => s.id === own.id)) return setups;
      const { instrument } = body as OfSetups["setup"];
      return [{ id: own.id, seq: 0, instrument, at: own.envelope.at, by: own.envelope.by, readings: 0, check: "" }, ...setups];
    }
    case "setup-closed": {
      const { setup } = body as OfSetups["setup-closed"];
      return setups.some((s) => s.id === setup && !s.closed) ? setups.map((s) => (s.id === setup ? { ...s, closed: true } : s)) : setups;
    }
    case "void": {
      const { event } = body as OfSetups["void"];
      return setups.some((s) => s.id === event) ? setups.filter((s) => s.id !== event) : setups;
    }
  }
  return setups;
}

// What somebody should look at in a job, and what of it is new to this phone: an
// event that comes late may change a figure that was acted on already.
import type { ID } from "../shared/event.ts";
import type { Kept } from "../shared/kept.ts";
import type { Flag } from "../shared/picture.ts";

/** The flags of one job, as this phone learned of them. */
export class Flags {
  private known: string[] = []; // in the order in which they were learned

  constructor(private job: ID, private kept: Kept) {}

  /** Takes in the flags of a picture and answers which are new. Of a job that this
   *  phone sees for the first time none is: nobody acted here on what was before. */
  async learn(now: Flag[]): Promise<Flag[]> {
    const name = `flags ${this.job}`;
    const before = await this.kept.read<string[]>(name);
    const fresh = now.filter((f) => !before?.includes(keyOf(f)));
    const standing = new Set(now.map(keyOf));
    this.known = [...(before ?? []).filter((k) => standing.has(k)), ...fresh.map(keyOf)];
    if (fresh.length > 0 || this.known.length !== before?.length) await this.kept.write(name, this.known);
    return before ? fresh : [];
  }

  /** Those of a picture, what was learned last first: the number of a late event says
   *  nothing of that. */
  latest(now: Flag[]): Flag[] {
    const at = (f: Flag) => {
      const i = this.known.indexOf(keyOf(f));
      return i < 0 ? Infinity : i;
    };
    return now.map((f) => ({ f, at: at(f) })).sort((a, b) => (a.at === b.at ? b.f.seq - a.f.seq : b.at - a.at)).map(({ f }) => f);
  }
}

const keyOf = (f: Flag) => `${f.id} ${f.text}`;

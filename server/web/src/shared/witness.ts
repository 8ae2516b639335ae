// A phone as a witness: it keeps the last checkpoint of each job that it saw, and looks
// whether the next one continues it. Nobody at the office can take back what it holds.
import { joins, readJoint, readNote, type Checkpoint } from "./checkpoint.ts";
import type { ID } from "./event.ts";
import type { Kept } from "./kept.ts";
import type { Wire } from "./wire.ts";

/** What a phone holds of one job. Once something was wrong the checkpoint that it held
 *  then stays. */
export interface Seen extends Checkpoint {
  wrong?: string; // what the office shows does not continue it: why
  told?: boolean; // that it is wrong was recorded
}

/** Where it is kept. */
export const seenName = (job: ID) => `signed ${job}`;

/** Between two looks at a job in which nothing was recorded. */
const againMS = 3600_000;

export class Witness {
  private asked = new Map<ID, { seq: number; at: number }>();

  /** tell records for the office that something is wrong; false where nobody is there
   *  in whose name, and it is tried again. */
  constructor(private kept: Kept, private wire: Wire, private tell: (job: ID, text: string) => Promise<boolean>, private now: () => number) {}

  /** Looks at a job whose log had so many records a moment ago. A server that signs
   *  nothing, or not yet, is as good as another. */
  async look(job: ID, seq: number): Promise<void> {
    const held = await this.kept.read<Seen>(seenName(job));
    if (held?.wrong) return this.sayWrong(job, held);
    const last = this.asked.get(job);
    const quiet = last && last.seq === seq && (!held || held.size === seq);
    if (quiet && Math.abs(this.now() - last.at) < againMS) return;
    const note = await this.wire.checkpoint(job);
    this.asked.set(job, { seq, at: this.now() });
    const shown = note === undefined ? undefined : readNote(note);
    if (shown) await this.compare(job, held, shown);
    else if (held && seq < held.size) await this.found(job, held, `The office has ${seq} records now, and signs none of them.`);
  }

  private async compare(job: ID, held: Seen | undefined, shown: Checkpoint): Promise<void> {
    if (held && held.size === shown.size && held.root === shown.root) return;
    const why = held ? await this.against(job, held, shown) : undefined;
    if (held && why) return this.found(job, held, why);
    await this.kept.write(seenName(job), shown satisfies Seen);
  }

  /** Why what is shown does not continue what is held; undefined where it does. */
  private async against(job: ID, held: Checkpoint, shown: Checkpoint): Promise<string | undefined> {
    const now = `Now ${shown.size} are signed with the root ${shown.root}`;
    if (shown.size <= held.size) return `${now}.`;
    const text = await this.wire.joint(job, held.size, shown.size);
    if (text === undefined) return `${now}, and the office gives no proof that these continue them.`;
    const joint = readJoint(text);
    const ours = joint && joint.old === held.size && joint.shown.size === shown.size && joint.shown.root === shown.root;
    return ours && (await joins(held, shown, joint.path)) ? undefined : `${now}, and they do not continue them.`;
  }

  private async found(job: ID, held: Seen, wrong: string): Promise<void> {
    const seen: Seen = { ...held, wrong };
    await this.kept.write(seenName(job), seen);
    await this.sayWrong(job, seen);
  }

  /** Tells the office, by a note in the book of the job. A crash in between tells it
   *  twice. */
  private async sayWrong(job: ID, seen: Seen): Promise<void> {
    if (seen.told) return;
    const text = `The record does not agree with what was signed. This phone holds a checkpoint of ${seen.size} records with the root ${seen.root}. ${seen.wrong}\n\n${seen.note}`;
    if (await this.tell(job, text)) await this.kept.write(seenName(job), { ...seen, told: true });
  }
}

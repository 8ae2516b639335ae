// Pictures taken before, for the ones that are to be taken after. Those of this phone
// are in its store; of others a small copy is fetched while there is signal.
import type { FileRef, ID } from "../shared/event.ts";
import type { App } from "./app.ts";

const most = 30; // pictures that are kept of others
const page = 500;

interface Before {
  subject: string;
  sha256: string;
  at: string;
}

/** The pictures "before" of a job that the office has, the latest of each subject. */
async function listed(app: App, job: ID): Promise<Before[]> {
  const latest = new Map<string, Before>();
  for (let after = 0; ; ) {
    const list = await app.store.heard(job, after, page);
    if (list.length === 0) break;
    after = list.at(-1)!.seq;
    for (const f of list.flatMap((h) => h.event?.files ?? [])) if (isBefore(f)) latest.set(f.subject, { subject: f.subject, sha256: f.sha256, at: f.taken_at ?? "" });
  }
  return [...latest.values()];
}

function isBefore(f: FileRef): f is FileRef & { subject: string } {
  return f.type === "photo" && f.stage === "before" && !!f.subject;
}

/** The picture before of a subject, if it is on this phone. */
export async function pictureBefore(app: App, job: ID, subject: string): Promise<Blob | undefined> {
  const own = (await app.store.shotsLeft()).filter((s) => s.job === job && s.subject === subject && s.stage === "before" && s.type === "photo").at(-1);
  const data = own && (await app.store.bytesOf(own));
  if (data) return new Blob([data], { type: own.media });
  const there = (await listed(app, job)).find((b) => b.subject === subject);
  const kept = there && (await app.store.read<{ sha256: string; data: ArrayBuffer }>(keyOf(job, subject)));
  if (kept && kept.sha256 === there.sha256) return new Blob([kept.data], { type: "image/jpeg" });
  return there ? app.wire.bytes(`/photos/${there.sha256}?size=1600`).catch(() => undefined) : undefined;
}

/** Fetches what may be wanted where there is no signal. */
export async function fetchBefore(app: App, job: ID): Promise<void> {
  for (const b of (await listed(app, job)).slice(-most)) {
    const kept = await app.store.read<{ sha256: string }>(keyOf(job, b.subject));
    if (kept?.sha256 === b.sha256) continue;
    const picture = await app.wire.bytes(`/photos/${b.sha256}?size=1600`);
    await app.store.write(keyOf(job, b.subject), { sha256: b.sha256, data: await picture.arrayBuffer() });
  }
}

function keyOf(job: ID, subject: string): string {
  return `before ${job} ${subject}`;
}

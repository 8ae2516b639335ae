// Handing a set-up over: one phone shows it, the other scans it.
import encodeQR from "qr";
import { useState } from "preact/hooks";
import type { ID } from "../../shared/event.ts";
import type { App } from "../app.ts";
import { pack, unpack } from "../handed.ts";
import { address, go } from "../route.ts";
import { Way } from "../ui/act.tsx";
import { useAnswer, useApp } from "../ui/app.tsx";
import { Frame } from "../ui/frame.tsx";
import { Scan } from "../ui/scan.tsx";
import { liveSetup, type Recording } from "./recording.ts";

export function HandOverSetup(p: Recording) {
  const app = useApp();
  const job = p.book.job;
  const setup = liveSetup(p.picture, app.who?.id);
  const [wrong, setWrong] = useState("");
  const whose = (by: ID) => app.office?.people.find((x) => x.id === by)?.name;
  const code = useAnswer(async () => (setup ? codeOf(app, job, setup.id) : undefined), [setup?.id]).value;
  const take = async (scanned: string) => {
    try {
      const { text, event } = await unpack(scanned, job);
      const known = (await app.store.read<string[]>(`handed ${job}`)) ?? [];
      if (!known.includes(text)) await app.store.write(`handed ${job}`, [...known, text]);
      await p.book.refresh();
      if (!p.book.picture?.setups?.some((s) => s.id === event.id)) {
        await app.store.write(`handed ${job}`, known);
        throw new Error(`This phone can make nothing of that set-up: read the ${app.words.datum} instead.`);
      }
      app.say({ tone: "saved", text: `The set-up of ${whose(event.by) ?? "the other phone"} is taken over.` });
      go(address(["job", job]), true);
    } catch (e) {
      setWrong(e instanceof Error ? e.message : String(e));
    }
  };
  return (
    <Frame title="Hand a set-up over" back={address(["job", job])} picture={p.picture}>
      {setup && code ? (
        <>
          <p>The other phone opens this screen of the same job, and scans. This is the set-up of {setup.instrument}{whose(setup.by) ? ` by ${whose(setup.by)}` : ""}.</p>
          <div class="code" dangerouslySetInnerHTML={{ __html: encodeQR(code, "svg", { ecc: "low", border: 4 }) }} />
        </>
      ) : <p>{setup ? "The code is being made." : "No set-up is open on this phone."}</p>}
      <Scan label="Scan the other phone’s" found={take} />
      {wrong ? <p class="danger" role="alert">{wrong}</p> : null}
      <p class="note">Where no code can be scanned: read the {app.words.datum} on this phone and make a set-up of its own.</p>
      <Way sort="quiet" to={address(["job", job, "do", "setup"])}>Set up by reading the {app.words.datum}</Way>
    </Frame>
  );
}

/** The exact text of a set-up: own, handed over before, or as the office lists it. */
async function codeOf(app: App, job: ID, id: ID): Promise<string | undefined> {
  const own = (await app.store.unheard(job)).find((o) => o.id === id)?.sealed;
  const handed = ((await app.store.read<string[]>(`handed ${job}`)) ?? []).find((t) => t.includes(id));
  for (let after = 0; !own && !handed; ) {
    const list = await app.store.heard(job, after, 500);
    if (list.length === 0) return undefined;
    after = list.at(-1)!.seq;
    const there = list.find((h) => h.event?.id === id);
    if (there?.event) return pack(JSON.stringify(there.event));
  }
  return pack((own ?? handed)!);
}

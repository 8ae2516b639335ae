// Codes that one phone shows and another reads, and what is left without a camera.
import assert from "node:assert/strict";
import { mkdtempSync, rmSync } from "node:fs";
import os from "node:os";
import path from "node:path";
import { read, ready, sendUntilAll } from "./faults.js";
import { setUp } from "./offline.js";
import { flags, Phone } from "./phone.js";
import { filmOf } from "./picture.js";

export const codes = {
  async "a set-up handed over by a code, without signal"(site) {
    const folder = mkdtempSync(path.join(os.tmpdir(), "film-"));
    const film = path.join(folder, "code.y4m");
    try {
      const { id } = await site.house();
      const one = await onJob(site, id);
      const other = await onJob(site, id, { args: [...flags, `--use-file-for-fake-video-capture=${film}`] });
      await setUp(one, id);
      await one.at(id, "/do/hand-over");
      await one.page.locator(".code svg").waitFor();
      if (site.shots) await one.page.screenshot({ path: path.join(site.shots, "hand-over.png") });
      await filmOf(one, ".code svg", film);
      await other.at(id, "/do/hand-over");
      await other.page.getByText("No set-up is open on this phone.").waitFor();
      await other.tap(/^Scan/);
      await other.page.getByText(`The set-up of ${site.person} is taken over.`).waitFor();
      await read(other, id, "B1-2", "1412");
      await other.page.getByText("12 to go").first().waitFor();
      // The reading may come before the set-up that it hangs on.
      for (const phone of [other, one]) {
        await phone.offline(false);
        await sendUntilAll(phone);
      }
      const log = await site.log(id);
      const [setup] = log.filter((e) => e.event.kind === "setup");
      const [reading] = log.filter((e) => e.event.kind === "reading");
      assert.equal(log.filter((e) => e.event.kind === "setup").length, 1);
      assert.equal(reading.event.body.setup, setup.event.id);
      assert.ok(reading.seq < setup.seq);
      assert.equal((await site.state(id)).supports.find((s) => s.id === "B1-2").remaining.mm, 12);
      await one.end();
      await other.end();
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  },

  async "no camera for the app"(site) {
    const { phone, id } = await ready(site);
    await phone.page.evaluate(() => (navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException("no", "NotAllowedError"))));
    await phone.at(id, "/do/photo?support=B1-1");
    await phone.tap("After");
    await phone.tap(/With the one before it/);
    await phone.page.getByRole("alert").getByText(/camera is not allowed here/).waitFor();
    assert.ok(await phone.button("Take it").isDisabled());
    await phone.tap("Back");
    await phone.page.getByLabel("Take photo").waitFor();
    await phone.at(id, "/do/hand-over");
    await phone.tap(/^Scan/);
    await phone.page.getByRole("alert").getByText(/no camera that this app may use/).waitFor();
    await phone.at(id, "/do/note");
    await phone.tap(/^Say it/);
    await phone.page.getByRole("alert").getByText(/microphone is not allowed here/).waitFor();
    await phone.page.getByLabel("Words").fill("typed instead");
    await phone.tap("Save the note");
    await phone.saved();
    await phone.end();
  },
};

/** A phone on a job, without signal. */
async function onJob(site, job, options) {
  const phone = await Phone.start(site, options);
  await phone.pair();
  await phone.openJob(job);
  await phone.context.setOffline(true);
  return phone;
}

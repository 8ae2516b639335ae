// What is spoken instead of typed.
import assert from "node:assert/strict";
import { ready } from "./faults.js";
import { arrived, bytesSent, digest } from "./photos.js";

export const sounds = {
  async "a note that is spoken"(site) {
    const { phone, id } = await ready(site);
    await phone.at(id, "/do/note?support=B1-1");
    await phone.page.getByLabel("Words").fill("and a word");
    await phone.tap(/^Say it/);
    await phone.page.getByRole("button", { name: /Stop. 5\d s left/ }).waitFor();
    assert.ok(await phone.page.getByRole("button", { name: "Stop the sound first" }).isDisabled(), "saved now it would be lost");
    await phone.page.waitForTimeout(1500);
    await phone.tap(/^Stop. /);
    const heard = phone.page.locator("audio");
    await heard.waitFor();
    await heard.evaluate((a) => a.play());
    await phone.tap("Save the note");
    const [sound] = await arrived(phone, site, id, 1);
    assert.deepEqual([sound.type, sound.media_type, sound.subject], ["sound", "audio/webm", "B1-1"]);
    assert.equal(digest(await bytesSent(site, sound)), sound.sha256);
    await phone.end();
  },

  async "a sound that goes on for more than a minute"(site) {
    const { phone, id } = await ready(site);
    await phone.at(id, "/do/note");
    await phone.page.evaluate(() => {
      const real = performance.now.bind(performance);
      performance.now = () => real() + (globalThis.later ?? 0);
    });
    await phone.tap(/^Say it/);
    await phone.page.getByRole("button", { name: /^Stop. / }).waitFor();
    await phone.page.waitForTimeout(500);
    await phone.page.evaluate(() => (globalThis.later = 60_000));
    await phone.page.locator("audio").waitFor();
    await phone.tap("Save the note");
    assert.equal((await arrived(phone, site, id, 1))[0].type, "sound");
    await phone.end();
  },
};

// New versions, several windows, and an app that is ended at the worst moment.
import assert from "node:assert/strict";
import { Between } from "./between.js";
import { photograph, read, ready, sendUntilAll } from "./faults.js";
import { clearKept } from "./offline.js";
import { Phone } from "./phone.js";

export const windows = {
  async "a new version while a form is open"(site) {
    const between = await Between.of(site);
    const { phone, id } = await ready(between.site(site));
    await phone.at(id, "/do/reading?support=B1-1");
    await clearKept(phone);
    await phone.type("14");
    between.change = newVersion;
    await phone.page.evaluate(async () => {
      globalThis.here = true; // gone if the page is loaded anew
      await (await navigator.serviceWorker.getRegistration()).update();
    });
    await until(() => phone.page.evaluate(async () => (await navigator.serviceWorker.getRegistration()).waiting !== null));
    await aRound(phone);
    assert.match(await phone.page.locator(".figure").innerText(), /14/, "what was typed");
    await phone.type("30");
    await phone.tap("Save B1-1");
    await phone.page.getByRole("heading", { name: "B1-1: " }).waitFor();
    await aRound(phone);
    assert.ok(await phone.page.evaluate(() => globalThis.here), "it took over beside a form");
    await phone.at(id); // and now nothing is open: it does not wait for the next round
    await phone.page.waitForFunction(() => document.documentElement.dataset.version === "next", undefined, { timeout: 15_000 });
    await phone.openJob(id);
    assert.ok(phone.page.url().endsWith(`#/job/${id}`), "it came back to another screen");
    await sendUntilAll(phone);
    const log = await site.log(id);
    assert.equal(log.filter((e) => e.event.kind === "reading").length, 1);
    await phone.end();
    between.close();
  },

  async "two windows of one phone"(site) {
    const { phone, id } = await ready(site);
    const other = phone.beside(await phone.context.newPage());
    let sending = 0;
    let most = 0;
    await phone.context.route("**/api/v1/jobs/*/events", async (route) => {
      if (route.request().method() !== "POST") return route.continue();
      most = Math.max(most, ++sending);
      const answer = await route.fetch();
      await new Promise((done) => setTimeout(done, 150)); // long enough for another to begin
      sending--;
      await route.fulfill({ response: answer });
    });
    await other.visit(`#/job/${id}`);
    await other.openJob(id);
    for (const staff of ["1431", "1432", "1433"]) {
      await typed(phone, id, "B1-1", staff);
      await typed(other, id, "B1-2", staff);
      await Promise.all([touch(phone, "Save B1-1"), touch(other, "Save B1-2")]);
      for (const window of [phone, other]) await window.page.getByRole("heading", { name: /^B1-.: / }).waitFor();
    }
    await sendUntilAll(phone);
    await sendUntilAll(other);
    const device = (await site.log(id)).filter((e) => e.event.kind === "setup")[0].event.device;
    const counters = (await site.log(id)).filter((e) => e.event.device === device).map((e) => e.event.device_seq);
    assert.deepEqual(counters, [1, 2, 3, 4, 5, 6, 7], "a counter is missing, was used twice, or came out of turn");
    assert.equal(most, 1, "two windows sent at once");
    await phone.end();
    assert.deepEqual(other.faults, []);
  },

  async "what one window keeps is in sight in the other"(site) {
    const { phone, id } = await ready(site);
    const other = phone.beside(await phone.context.newPage());
    await other.visit(`#/job/${id}`);
    await other.openJob(id);
    await other.allSent();
    await phone.context.setOffline(true);
    await phone.page.bringToFront();
    await read(phone, id, "B1-1", "1430");
    await other.page.bringToFront();
    // A round would come to it within 45 s: this is sooner.
    await other.page.waitForFunction(() => /1 record on this phone/.test(document.querySelector(".held").textContent), undefined, { timeout: 15_000 });
    await other.page.locator("svg.floor [data-support=B1-1][aria-label*='30 to go']").waitFor({ timeout: 15_000 });
    await phone.end();
    assert.deepEqual(other.faults, []);
  },

  async "the app ended while the camera is open"(site) {
    const { phone, id } = await ready(site);
    await phone.at(id, "/do/photo?support=B1-2");
    await phone.tap("During");
    const camera = phone.page.waitForEvent("filechooser");
    await phone.page.getByText("Take photo").click();
    await camera;
    await until(() => phone.page.evaluate(() => new Promise((done) => {
      indexedDB.open("relevel").onsuccess = (e) => {
        const db = e.target.result;
        db.transaction("setting").objectStore("setting").get("intent").onsuccess = (e) => done(e.target.result !== undefined);
        db.close();
      };
    })));
    await phone.kill();
    await phone.launch();
    await phone.visit(); // as the icon on the home screen opens it
    await phone.page.getByRole("heading", { name: "Photo of B1-2" }).waitFor();
    assert.equal(await phone.button(/^During/).getAttribute("aria-pressed"), "true", "what was chosen");
    await phone.page.locator(".foot.doubt").getByText(/take it again/).waitFor();
    await photograph(phone, id, "B1-2");
    await sendUntilAll(phone);
    await phone.visit();
    await phone.page.locator("ul.rows").waitFor(); // once is enough
    assert.equal(new URL(phone.page.url()).hash, "");
    await phone.end();
  },

  async "the browser killed while it sends"(site) {
    const between = await Between.of(site);
    const { phone, id } = await ready(between.site(site));
    await photograph(phone, id, "B1-3");
    await sendUntilAll(phone);
    await phone.context.setOffline(true);
    for (const [support, staff] of [["B1-1", "1430"], ["B1-2", "1412"]]) await read(phone, id, support, staff);
    await photograph(phone, id, "B1-2");
    // The office stores them, and the phone is ended before it hears of it.
    between.keepBack = (ask) => ask.method === "POST" && ask.url.endsWith("/events");
    await phone.offline(false);
    await until(() => between.keptBack >= 1);
    await phone.kill();
    between.keepBack = () => false;
    // Then half of the photo is sent, and it is ended again.
    between.cutUpload = (ask) => ask.method === "PUT";
    await phone.launch();
    await phone.visit(`#/job/${id}`);
    await until(() => between.cut >= 1);
    await phone.kill();
    between.cutUpload = () => false;
    await phone.launch();
    await phone.visit(`#/job/${id}`);
    await phone.openJob(id);
    await sendUntilAll(phone);
    const log = await site.log(id);
    const { device } = log.find((e) => e.event.kind === "setup").event;
    const own = log.filter((e) => e.event.device === device).map((e) => e.event);
    assert.deepEqual(own.map((e) => e.device_seq), [1, 2, 3, 4, 5]);
    assert.deepEqual(own.map((e) => e.kind), ["setup", "note", "reading", "reading", "note"]);
    await site.photo(own[4].files[0].sha256);
    await phone.end();
    between.close();
  },
};

/** Goes round once, after which a new version takes over where it may. */
async function aRound(phone) {
  await sendUntilAll(phone);
  await phone.page.evaluate(() => dispatchEvent(new Event("online")));
  await phone.page.waitForTimeout(1500); // it is loaded anew at once if it is at all
}

/** Types a reading and saves it not yet. A window that is not in front draws, and so
 *  takes in what is typed, seldom. */
async function typed(phone, job, support, staff) {
  await phone.page.bringToFront();
  await phone.at(job, `/do/reading?support=${support}`);
  await phone.button(`Save ${support}`).waitFor();
  await clearKept(phone);
  await phone.type(staff);
}

function touch(phone, name) {
  return phone.button(name).evaluate((b) => b.click());
}

/** The next version of the app: its service worker says so, and what it keeps. */
function newVersion(path, text) {
  if (path.startsWith("/phone/sw.js")) return text.replace(/"[\d.]+\+[0-9a-f]{12}"/g, '"99.0.0+0123456789ab"');
  if (path.startsWith("/phone/app.js")) return `${text}\ndocument.documentElement.dataset.version = "next";\n`;
  return text;
}

async function until(holds, ms = 15_000) {
  const end = Date.now() + ms;
  while (!(await holds())) {
    assert.ok(Date.now() < end, `${holds} never held`);
    await new Promise((done) => setTimeout(done, 50));
  }
}

// What goes wrong between a phone and the office, and that nothing is lost by it.
import assert from "node:assert/strict";
import { randomBytes } from "node:crypto";
import { readFileSync } from "node:fs";
import { Between } from "./between.js";
import { clearKept, setUp } from "./offline.js";
import { Phone } from "./phone.js";

const api = "**/api/v1/**";
const appends = "**/api/v1/jobs/*/events";

export const faults = {
  async "what could not be kept is never called saved"(site) {
    const { phone, id } = await ready(site);
    const { counter } = await phone.store();
    await phone.at(id, "/do/reading?support=B1-2");
    await phone.type("1412");
    await phone.page.evaluate(() => {
      globalThis.said = [];
      new MutationObserver(() => globalThis.said.push(document.querySelector(".foot p").textContent)).observe(document.body, { subtree: true, childList: true, characterData: true });
    });
    for (const late of [false, true]) await failToSave(phone, "B1-2", late);
    const said = await phone.page.evaluate(() => globalThis.said);
    assert.deepEqual(said.filter((text) => text.startsWith("Saved")), []);
    assert.match(await phone.page.locator(".figure").innerText(), /1412/, "what was typed");
    assert.equal((await phone.store()).counter, counter);
    await phone.tap("Save B1-2"); // and now the disk works
    await phone.page.getByRole("heading", { name: "B1-2: " }).waitFor();
    await phone.allSent();
    assert.equal((await phone.store()).counter, counter + 1);
    await phone.end();
  },

  async "strict durability on every write"(site) {
    const phone = await Phone.start(site);
    await phone.context.addInitScript(() => {
      const was = IDBDatabase.prototype.transaction;
      globalThis.writes = [];
      IDBDatabase.prototype.transaction = function (names, mode, options) {
        if (mode === "readwrite") globalThis.writes.push({ names: [...names], durability: options?.durability ?? "default" });
        return was.call(this, names, mode, options);
      };
    });
    const { id } = await site.house();
    await phone.pair();
    await phone.openJob(id);
    await setUp(phone, id);
    await read(phone, id, "B1-1", "1430");
    await photograph(phone, id, "B1-1");
    await sendUntilAll(phone);
    const writes = await phone.page.evaluate(() => globalThis.writes);
    for (const store of ["own", "shot", "bytes", "heard", "setting"]) assert.ok(writes.some((w) => w.names.includes(store)), `nothing was written to ${store}`);
    assert.deepEqual(writes.filter((w) => w.durability !== "strict"), []);
    await phone.end();
  },

  async "an acknowledgement that is lost"(site) {
    const { phone, id } = await ready(site);
    let cut = 0;
    await phone.context.route(appends, async (route) => {
      if (route.request().method() !== "POST" || cut > 1) return route.continue();
      cut++;
      await route.fetch();
      await route.abort("connectionreset");
    });
    await read(phone, id, "B1-1", "1430");
    await phone.page.waitForTimeout(500);
    await sendUntilAll(phone);
    assert.ok(cut > 0, "no answer was cut");
    assert.equal((await site.log(id)).filter((e) => e.event.kind === "reading").length, 1);
    await phone.end();
  },

  async "the same id with another body"(site) {
    const { phone, id, office } = await ready(site);
    await phone.context.setOffline(true);
    await read(phone, id, "B1-1", "1430");
    await read(phone, id, "B1-2", "1412");
    const [own] = (await phone.store()).own.filter((o) => o.kind === "reading");
    await office.record("note", { text: "another" }, { id: own.id });
    await phone.offline(false);
    await phone.page.locator(".held").getByText(/1 not taken/).waitFor();
    await phone.tap(/not taken/);
    await phone.page.getByText(/does not count/).waitFor();
    const kinds = (await site.log(id)).filter((e) => e.event.device === own.envelope.device).map((e) => e.event.body.point ?? e.event.kind);
    assert.deepEqual(kinds, ["setup", "B1-2"], "the rest went on");
    await phone.end();
  },

  async "a poison event in the middle"(site) {
    const { phone, id } = await ready(site);
    await phone.context.setOffline(true);
    for (const [support, staff] of [["B1-1", "1430"], ["B1-2", "1412"], ["B1-3", "1421"]]) await read(phone, id, support, staff);
    const second = (await phone.store()).own.filter((o) => o.kind === "reading")[1];
    await seal(phone, second.counter, second.sealed.replace('"v":1', '"v":0'));
    await phone.offline(false);
    await phone.page.locator(".held").getByText(/1 not taken/).waitFor();
    const points = (await site.log(id)).filter((e) => e.event.kind === "reading").map((e) => e.event.body.point);
    assert.deepEqual(points, ["B1-1", "B1-3"]);
    const apart = (await phone.store()).own.find((o) => o.counter === second.counter);
    assert.match(apart.reason, /v: /, "the reason names the field");
    await phone.end();
  },

  async "busy five times, then not"(site) {
    const { phone, id } = await ready(site);
    let busy = 0;
    await phone.context.route(appends, (route) => {
      if (route.request().method() !== "POST" || ++busy > 5) return route.continue();
      return route.fulfill({ status: 503, contentType: "application/problem+json", body: '{"status":503,"detail":"The store does not answer now."}' });
    });
    await read(phone, id, "B1-1", "1430");
    await phone.page.waitForTimeout(300);
    await sendUntilAll(phone);
    assert.equal(busy, 6);
    assert.equal((await site.log(id)).filter((e) => e.event.kind === "reading").length, 1);
    await phone.end();
  },

  async "an access that was revoked, with a queue"(site) {
    const { phone, id } = await ready(site);
    await phone.context.setOffline(true);
    await read(phone, id, "B1-1", "1430");
    const device = (await site.api("GET", "/devices")).devices.find((d) => d.device_id && !d.revoked_at && !site.revoked?.has(d.id));
    (site.revoked ??= new Set()).add(device.id);
    await site.api("POST", `/devices/${device.id}/revoke`);
    await phone.offline(false);
    await phone.page.locator(".held").getByText(/pair again/).waitFor();
    assert.equal((await phone.store()).own.filter((o) => o.state === "waiting").length, 1, "what was kept");
    await read(phone, id, "B1-2", "1412");
    await phone.tap(/pair again/);
    await phone.tap("Pair again");
    await phone.page.getByLabel("Code").fill(await site.pairingCode());
    await phone.tap("Pair");
    await phone.allSent();
    assert.equal((await site.log(id)).filter((e) => e.event.kind === "reading").length, 2);
    await phone.end();
  },

  async "a server that never answers"(site) {
    const phone = await Phone.start(site);
    const { id } = await readyOn(phone);
    await phone.page.evaluate(() => {
      const real = AbortSignal.timeout;
      AbortSignal.timeout = (ms) => real.call(AbortSignal, ms / 10); // nobody waits so long here
    });
    let asked = 0;
    await phone.context.route(api, () => void asked++); // never answered
    await read(phone, id, "B1-1", "1430");
    await read(phone, id, "B1-2", "1412"); // recording goes on meanwhile
    assert.match(await phone.held(), /2 records on this phone/);
    await phone.page.getByText("12 to go").first().waitFor();
    await phone.tap(/on this phone/);
    await phone.page.getByText("The office does not answer.").waitFor();
    assert.ok(asked > 0);
    await phone.context.unroute(api);
    await sendUntilAll(phone);
    assert.equal((await site.log(id)).filter((e) => e.event.kind === "reading").length, 2);
    await phone.end();
  },

  async "a sign-in page in place of the office"(site) {
    const { phone, id } = await ready(site);
    await phone.context.route(api, (route) => route.fulfill({ status: 200, contentType: "text/html", body: "<h1>Welcome to the guest network</h1>" }));
    await read(phone, id, "B1-1", "1430");
    await phone.tap(/on this phone/);
    await phone.page.getByText(/sign-in page on this network/).waitFor();
    assert.equal((await phone.store()).own.filter((o) => o.state === "apart").length, 0);
    await phone.context.unroute(api);
    await sendUntilAll(phone);
    assert.equal((await site.log(id)).filter((e) => e.event.kind === "reading").length, 1);
    await phone.end();
  },

  async "a photo that is cut at half three times"(site) {
    const between = await Between.of(site);
    const { phone, id } = await ready(between.site(site));
    const addresses = new Set();
    between.cutUpload = (ask) => {
      if (ask.method !== "PUT") return false;
      addresses.add(ask.url);
      return between.cut < 3;
    };
    await photograph(phone, id, "B1-1");
    await sendUntilAll(phone, 40_000);
    assert.equal(between.cut, 3);
    const [note] = (await site.log(id)).filter((e) => e.event.kind === "note");
    const [file] = note.event.files;
    assert.deepEqual([...addresses], [`/api/v1/photos/${file.sha256}`], "one object");
    await site.photo(file.sha256);
    assert.deepEqual((await phone.store()).bytes, [], "the phone let its bytes go");
    await phone.end();
    between.close();
  },

  async "no room left on the phone"(site) {
    const { phone, id } = await ready(site);
    // This browser heeds no quota that is set from outside: it fails as one without room does.
    await phone.page.evaluate(() => {
      const add = IDBObjectStore.prototype.add;
      IDBObjectStore.prototype.add = function (value, ...key) {
        if (value.byteLength > 1_000_000) throw new DOMException("no room", "QuotaExceededError");
        return add.call(this, value, ...key);
      };
    });
    await phone.at(id, "/do/photo?support=B1-1");
    await phone.page.locator("input[type=file]").last().setInputFiles({ name: "large.jpg", mimeType: "image/jpeg", buffer: randomBytes(3_000_000) });
    await phone.tap("Save the photo");
    await phone.page.locator(".foot.wrong").getByText(/no room for the photo/).waitFor();
    await read(phone, id, "B1-1", "1430");
    await phone.end();
  },

  async "leaving while something is unsent"(site) {
    const { phone, id } = await ready(site);
    await phone.context.setOffline(true);
    await read(phone, id, "B1-1", "1430");
    await phone.page.evaluate(() => (location.hash = "#/me"));
    await phone.hold(/Leave this firm/);
    await phone.page.getByText(/Something is on this phone only/).waitFor();
    await phone.page.evaluate(() => (location.hash = "#/sending"));
    const saving = phone.page.waitForEvent("download");
    await phone.tap("Save all of it to a file");
    const file = JSON.parse(readFileSync(await (await saving).path(), "utf8"));
    assert.equal(file.events.length, 1);
    assert.equal(JSON.parse(file.events[0].text).body.point, "B1-1");
    await phone.end();
  },
};

/** A phone on a house, with the laser set up and all sent. */
export async function ready(site, house) {
  const phone = await Phone.start(site);
  return { phone, ...(await readyOn(phone, house)) };
}

async function readyOn(phone, house) {
  const made = await phone.site.house(house);
  await phone.pair();
  await phone.openJob(made.id);
  await setUp(phone, made.id);
  await phone.allSent();
  return made;
}

/** Saves while the store undoes what it is given: at once, or when it was written. */
async function failToSave(phone, support, late) {
  await phone.page.evaluate((late) => {
    const add = IDBObjectStore.prototype.add;
    IDBObjectStore.prototype.add = function (...a) {
      const made = add.apply(this, a);
      if (this.name !== "own") return made;
      IDBObjectStore.prototype.add = add;
      this.transaction.addEventListener("abort", () => (globalThis.undone = true));
      if (late) made.addEventListener("success", () => this.transaction.abort());
      else this.transaction.abort();
      return made;
    };
    globalThis.undone = false;
  }, late);
  await phone.tap(`Save ${support}`);
  await phone.page.waitForFunction(() => globalThis.undone);
  await phone.page.waitForTimeout(200); // whatever is said of it is said
  await phone.page.locator(".foot.wrong [role=alert]").getByText(/^NOT saved/).waitFor();
}

/** Reads one support, the figure typed whole. */
export async function read(phone, job, support, staff) {
  await phone.at(job, `/do/reading?support=${support}`);
  await phone.page.getByRole("button", { name: `Save ${support}` }).waitFor();
  await clearKept(phone);
  await phone.type(staff);
  await phone.tap(`Save ${support}`);
  await phone.page.getByRole("heading", { name: `${support}: ` }).waitFor();
}

/** Sends now, again and again, as one does who waits for it. */
export async function sendUntilAll(phone, timeout = 20_000) {
  const until = Date.now() + timeout;
  while ((await phone.held()) !== "all sent") {
    assert.ok(Date.now() < until, `still ${await phone.held()}`);
    await phone.page.evaluate(() => dispatchEvent(new Event("online")));
    await phone.page.waitForTimeout(250);
  }
}

/** Records a photo of a support, drawn by the browser. */
export async function photograph(phone, job, support, stage) {
  await phone.at(job, `/do/photo?support=${support}`);
  const picture = await phone.page.evaluate(() => new Promise((done) => {
    const c = Object.assign(document.createElement("canvas"), { width: 640, height: 480 });
    const pen = c.getContext("2d");
    for (let i = 0; i < 200; i++) {
      pen.fillStyle = `hsl(${Math.random() * 360} 80% 50%)`;
      pen.fillRect(Math.random() * 640, Math.random() * 480, 80, 60);
    }
    c.toBlob(async (b) => done([...new Uint8Array(await b.arrayBuffer())]), "image/jpeg");
  }));
  if (stage) await phone.tap(stage);
  await phone.page.locator("input[type=file]").last().setInputFiles({ name: "a.jpg", mimeType: "image/jpeg", buffer: Buffer.from(picture) });
  await phone.tap("Save the photo");
  await phone.page.getByRole("heading", { name: `${support}: ` }).waitFor();
}

/** Gives an own event another text, as no app does. */
export async function seal(phone, counter, sealed) {
  await phone.page.evaluate(async ([counter, sealed]) => {
    const db = await new Promise((done) => (indexedDB.open("relevel").onsuccess = (e) => done(e.target.result)));
    const own = db.transaction("own", "readwrite").objectStore("own");
    const was = await new Promise((done) => (own.get(counter).onsuccess = (e) => done(e.target.result)));
    await new Promise((done) => (own.put({ ...was, sealed }).onsuccess = done));
    db.close();
  }, [counter, sealed]);
}

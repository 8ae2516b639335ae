// What a plan begins from: a picture, another job, a plain house.
import assert from "node:assert/strict";
import { Drawer, Job, api, desk, grid, site } from "./drawer.js";

/** A picture under the plan, put to scale by two points; another job's plan. */
export async function under(browser) {
  const job = await Job.begin("Underlay");
  const d = await Drawer.enter(browser, desk);
  await d.open(job);
  const [chooser] = await Promise.all([d.page.waitForEvent("filechooser"), d.page.click("text=A photo or a sketch under it")]);
  await chooser.setFiles({ name: "sketch.jpg", mimeType: "image/jpeg", buffer: Buffer.from(site.photo, "base64") });
  await d.page.waitForSelector("image.underlay");
  await d.page.waitForSelector("input[name=far]");
  await d.tap(await d.on(0.2, 0.6));
  await d.tap(await d.on(0.7, 0.62));
  await d.page.fill("input[name=far]", "9.6");
  await d.page.selectOption("select[name=way]", "level");
  await d.look("underlay");
  await d.click("button:text-is('Put to scale')");
  await d.page.selectOption("label:has-text('Strength') select", "0.3");
  await d.record();
  const { underlay } = await job.plan();
  assert.equal(Math.round((underlay.metres[1][0] - underlay.metres[0][0]) * 1000), 9600);
  assert.equal(underlay.metres[1][1], underlay.metres[0][1]);
  await d.page.reload();
  await d.page.waitForSelector("image.underlay");
  await d.page.context().close();
}

export async function copied(browser) {
  const from = await Job.begin("The house next door");
  await from.post("plan", { ...grid(3, 5), datums: [{ id: "D1", x: -1, y: -1, height: 0, stands_on: "kerb" }] });
  let listed = [];
  for (const until = Date.now() + 10000; Date.now() < until && !listed.some((j) => j.id === from.id && j.brief?.supports === 15);) listed = (await api("GET", "/jobs")).jobs;
  const job = await Job.begin("Copied");
  const d = await Drawer.enter(browser, desk);
  await d.open(job);
  await d.page.selectOption("label:has-text('Or copy the plan of') select", from.id);
  await d.click("button:text-is('Copy it')");
  await d.page.waitForSelector("[data-key='support:B3-5']", { state: "attached" });
  await d.press("Control+z");
  await d.page.fill("label:has-text('Long') input", "9");
  await d.page.fill("label:has-text('wide') input", "5.4");
  await d.click("button:text-is('Begin with it')");
  await d.page.waitForSelector("[data-key='support:B4-7']", { state: "attached" });
  await d.click(".plan-under >> text=In feet");
  await d.look("feet");
  await d.record();
  assert.equal((await job.plan()).supports.length, 28);
  await d.page.context().close();
}

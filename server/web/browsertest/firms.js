// Two firms in two browsers. Each walks over all links of its own pages; then the
// other follows the same links, sends the same forms and listens to the same streams
// with its own cookie. The Go test that starts it says in SITE where the server is and
// what each firm's access, job and word are. It prints what is wrong and exits 1.
import assert from "node:assert/strict";
import { chromium } from "playwright-core";

const site = JSON.parse(process.env.SITE);
const flags = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync"];
const most = 40; // pages that a walk opens

async function enter(browser, firm) {
  const context = await browser.newContext();
  const page = await context.newPage();
  await page.goto(`${site.url}/enter#${firm.token}`);
  await page.waitForURL(`${site.url}/`);
  return page;
}

// walk opens pages from the first on, link after link, and returns the addresses of all
// it saw: pages, pictures and what scripts ask for.
async function walk(page, firm) {
  const seen = new Set(["/"]);
  const forms = [];
  page.on("request", (r) => { if (r.url().startsWith(site.url)) seen.add(r.url().slice(site.url.length)); });
  let opened = 0;
  for (const at of seen) {
    if (opened === most || /^\/(api|static|phone|photos)\b/.test(at)) continue;
    opened++;
    const answer = await page.goto(site.url + at);
    assert.ok(answer.ok(), `${at} answers its owner ${answer.status()}`);
    const found = await page.evaluate(() => ({
      links: [...document.querySelectorAll("a[href]")].map((a) => new URL(a.getAttribute("href"), location).href),
      forms: [...document.forms].filter((f) => f.method === "post").map((f) => ({ to: f.action, fields: [...new FormData(f)].filter(([, v]) => typeof v === "string") })),
    }));
    for (const link of found.links) if (link.startsWith(site.url)) seen.add(link.slice(site.url.length).split("#")[0]);
    for (const form of found.forms) forms.push({ to: form.to.slice(site.url.length), fields: form.fields });
  }
  assert.ok([...seen].filter((at) => at.includes(firm.job)).length >= 15, `only ${[...seen].join(" ")}`);
  return { links: [...seen], forms: forms.filter((f) => f.to.includes(firm.job)) };
}

// follow asks for what another firm saw, from inside a page of one's own. An address
// that is only posted to says so, and it has to say the same of a job that is nobody's.
async function follow(page, firm, other, { links, forms }) {
  await page.goto(`${site.url}/people`);
  const faults = [];
  const judge = (what, at, { status, text }) => {
    if (text.replaceAll(other.support, "").includes(other.word)) faults.push(`${what} ${at} shows ${other.word}`);
    if (at.includes(other.job) && status !== 404) faults.push(`${what} ${at} answers ${status}, not 404`);
  };
  for (const at of links) {
    const answer = await page.evaluate(get, at);
    if (answer.status === 405) {
      const nobodys = await page.evaluate(get, at.replaceAll(other.job, crypto.randomUUID()));
      if (nobodys.status === 405 && nobodys.text.length === answer.text.length) continue;
    }
    judge("GET", at, answer);
  }
  for (const form of forms) judge("POST", form.to, await page.evaluate(send, form));
  const heard = await page.evaluate(listen, `/api/v1/jobs/${other.job}/live`);
  if (heard) faults.push(`the stream of another's job says ${heard}`);
  return faults;
}

async function get(at) {
  const gone = new AbortController();
  const stream = at.endsWith("/live");
  const answer = await fetch(at, { headers: { Accept: "text/html" }, signal: gone.signal });
  if (stream && answer.ok) {
    gone.abort();
    return { status: answer.status, text: "" };
  }
  return { status: answer.status, text: await answer.text() };
}

async function send({ to, fields }) {
  const body = new FormData();
  for (const [name, value] of fields) body.append(name, value);
  const answer = await fetch(to, { method: "POST", body, headers: { Accept: "text/html" } });
  return { status: answer.status, text: await answer.text() };
}

function listen(at) {
  return new Promise((done) => {
    const stream = new EventSource(at);
    stream.addEventListener("head", (e) => done(e.data));
    stream.onerror = () => { stream.close(); done(""); };
  });
}

async function run() {
  const browser = await chromium.launch({ executablePath: site.chromium, args: flags });
  try {
    const [one, two] = site.firms;
    const [mine, theirs] = [await enter(browser, one), await enter(browser, two)];
    const faults = await follow(theirs, two, one, await walk(mine, one));
    faults.push(...await follow(mine, one, two, await walk(theirs, two)));
    assert.deepEqual(faults, []);
  } finally {
    await browser.close();
  }
}

run().catch((err) => {
  console.error(err);
  process.exitCode = 1;
});

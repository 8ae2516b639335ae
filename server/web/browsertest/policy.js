// Holds every page to its policy in a real browser. The Go test that starts it says in
// SITE where the server is, and which pages there are, of a house where people typed
// markup. It prints what is wrong and exits 1.
import assert from "node:assert/strict";
import { createServer } from "node:http";
import { chromium } from "playwright-core";

const site = JSON.parse(process.env.SITE);
const flags = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync"];
const faults = [];

// Each page tells what its policy refused, before anything of its own runs.
async function open(browser) {
  const context = await browser.newContext({ serviceWorkers: "allow" });
  await context.addInitScript(() => {
    globalThis.refused = [];
    addEventListener("securitypolicyviolation", (e) => refused.push(`${e.effectiveDirective} ${e.blockedURI} ${e.sample}`));
  });
  const page = await context.newPage();
  page.setDefaultTimeout(20_000);
  page.watched = { away: [], loud: [] };
  page.on("request", (r) => { if (!r.url().startsWith(site.url) && !/^(data|blob):/.test(r.url())) page.watched.away.push(r.url()); });
  page.on("console", (m) => { if (m.type() === "error" && !/status of 4\d\d/.test(m.text())) page.watched.loud.push(m.text()); });
  page.on("pageerror", (e) => page.watched.loud.push(e.message));
  page.on("dialog", (d) => { page.watched.loud.push(`it says ${d.message()}`); d.dismiss(); });
  return page;
}

// look opens a page, touches what can be touched by a mouse, and says what went wrong.
async function look(page, at) {
  page.watched.away.length = page.watched.loud.length = 0;
  await page.goto(site.url + at);
  const found = await page.evaluate(() => {
    for (const e of document.querySelectorAll("main *")) e.dispatchEvent(new MouseEvent("mouseover", { bubbles: true }));
    return {
      ran: "ran" in globalThis, refused, at: location.href,
      inline: [...document.querySelectorAll("[style], style, script:not([src], [type='application/json']), iframe, object, embed, base, meta[http-equiv]")].map((e) => e.outerHTML.slice(0, 80)),
      handlers: [...document.querySelectorAll("*")].filter((e) => [...e.attributes].some((a) => a.name.startsWith("on") || /^\s*javascript:/i.test(a.value) && ["href", "src", "action", "formaction"].includes(a.name))).map((e) => e.outerHTML.slice(0, 80)),
    };
  });
  if (found.ran) faults.push(`${at}: what somebody typed was run`);
  if (!found.at.startsWith(site.url)) faults.push(`${at}: it led to ${found.at}`);
  for (const [what, list] of Object.entries({ "refused by its policy": found.refused, "stands in it": found.inline, "is a handler": found.handlers, "is loaded from elsewhere": page.watched.away, "in the console": page.watched.loud })) {
    for (const one of list) faults.push(`${at}: ${what}: ${one}`);
  }
}

// What is put into a page on purpose, and the directive that has to refuse it.
const injected = {
  "script-src-elem": ["<script>ran=1</script>", "<script src=https://elsewhere.example/x.js></script>", "<script src=data:text/javascript,ran=1></script>"],
  "script-src-attr": ["<img src=data:, onerror=ran=1>", "<svg onload=ran=1>", "<details open ontoggle=ran=1>"],
  "style-src-elem": ["<style>body{color:red}</style>", "<link rel=stylesheet href=https://elsewhere.example/x.css>"],
  "style-src-attr": ["<p style=color:red>x"],
  "img-src": ["<img src=https://elsewhere.example/x.png>"],
  "frame-src": ["<iframe src=https://elsewhere.example></iframe>", "<iframe src=/></iframe>"],
  "object-src": ["<object data=/></object>", "<embed src=/>"],
  "media-src": ["<audio src=https://elsewhere.example/x.webm></audio>"],
  "base-uri": ["<base href=https://elsewhere.example/>"],
};

// inject puts each into the page as a reader of the page's own script would, and waits
// until the policy has refused it.
async function inject(page, at) {
  await page.goto(site.url + at);
  for (const [directive, all] of Object.entries(injected)) {
    for (const html of all) {
      const refusal = await page.evaluate(async ([html, directive]) => {
        refused.length = 0;
        const into = document.createElement("div");
        document.body.append(into);
        into.append(document.createRange().createContextualFragment(html)); // scripts in it run, those of innerHTML never do
        for (let i = 0; i < 200 && !refused.length; i++) await new Promise((done) => setTimeout(done, 10));
        into.remove();
        return "ran" in globalThis ? "it ran" : refused.some((r) => r.startsWith(directive)) ? "" : `it was not refused: ${refused}`;
      }, [html, directive]);
      if (refusal) faults.push(`${at}: ${html} as ${directive}: ${refusal}`);
    }
  }
  const tried = await page.evaluate(async () => {
    const said = {};
    const attempt = async (name, f) => { try { await f(); said[name] = "was let through"; } catch { /* refused */ } };
    await attempt("fetch from elsewhere", () => fetch("http://127.0.0.1:9/"));
    await attempt("a script as a string", () => new Promise((done, failed) => {
      const s = document.createElement("script");
      s.textContent = "ran=1";
      document.body.append(s);
      "ran" in globalThis ? done() : failed();
    }));
    await attempt("a worker of a blob", () => new Promise((done, failed) => {
      const w = new Worker(URL.createObjectURL(new Blob(["postMessage(1)"])));
      w.onmessage = done;
      w.onerror = failed;
    }));
    await attempt("a socket elsewhere", () => new Promise((done, failed) => {
      const w = new WebSocket("ws://127.0.0.1:9/");
      w.onopen = done;
      w.onerror = failed;
    }));
    return { said, refused: refused.join("\n") };
  });
  for (const [name, what] of Object.entries(tried.said)) faults.push(`${at}: ${name} ${what}`);
  for (const want of ["connect-src http://127.0.0.1:9", "connect-src ws://127.0.0.1:9"]) {
    if (!tried.refused.includes(want)) faults.push(`${at}: its policy did not refuse ${want}: ${tried.refused}`);
  }
}

// Another site's page frames, opens and posts to ours in vain, and cannot read it.
async function elsewhere(page) {
  const other = createServer((q, a) => a.writeHead(200, { "Content-Type": "text/html" }).end("<!doctype html><p>elsewhere")).listen(0, "127.0.0.1");
  await new Promise((done) => other.once("listening", done));
  // Another site to the browser: localhost is not 127.0.0.1.
  await page.goto(`http://localhost:${other.address().port}/`);
  const said = await page.evaluate(async (url) => {
    const frame = document.createElement("iframe");
    frame.src = url;
    const loaded = new Promise((done) => (frame.onload = frame.onerror = done));
    document.body.append(frame);
    await loaded;
    let read = "nothing";
    try { read = frame.contentDocument?.body.innerText ?? "nothing"; } catch { /* another origin */ }
    const image = await new Promise((done) => { const i = new Image(); i.onload = () => done("shown"); i.onerror = () => done("refused"); i.src = `${url}/static/mark.svg`; });
    const posted = await fetch(`${url}/leave`, { method: "POST", mode: "no-cors", credentials: "include" }).then((r) => r.type, () => "refused");
    const answer = await fetch(`${url}/api/v1/jobs`, { credentials: "include" }).then((r) => r.text(), () => "refused");
    return { read, image, posted, answer };
  }, site.url);
  if (said.read !== "nothing" || page.frames().some((f) => f !== page.mainFrame() && f.url().startsWith(site.url))) faults.push(`a page of another site frames ours: ${page.frames().map((f) => f.url())}`);
  if (said.answer !== "refused") faults.push(`a page of another site reads the API: ${said.answer}`);
  other.close();
}

async function run() {
  const browser = await chromium.launch({ executablePath: site.chromium, args: flags });
  try {
    const stranger = await open(browser);
    for (const at of site.open) await look(stranger, at);
    await inject(stranger, "/enter");
    await inject(stranger, "/verify");
    const page = await open(browser);
    await page.goto(`${site.url}/enter#${site.token}`);
    await page.waitForURL(`${site.url}/`);
    assert.ok(site.pages.length > 100, `only ${site.pages.length} pages`);
    for (const at of site.pages) await look(page, at);
    await inject(page, `/jobs/${site.job}`);
    await elsewhere(page);
    await page.goto(`${site.url}/account`);
    assert.equal(new URL(page.url()).pathname, "/account", "another site signed somebody out");
    const owner = await open(browser);
    await owner.goto(site.share);
    await owner.waitForFunction(() => location.hash === "");
    const shared = new URL(site.share).pathname;
    for (const at of [shared, `${shared}/pack`]) await look(owner, at);
    await inject(owner, shared);
    const phone = await open(browser);
    await look(phone, "/phone/");
    await inject(phone, "/phone/");
    assert.equal(await phone.evaluate(() => document.featurePolicy?.allowsFeature("camera") ?? true), true);
    assert.equal(await page.evaluate(() => document.featurePolicy?.allowsFeature("camera") ?? false), false, "a page of the office may use the camera");
  } finally {
    await browser.close();
  }
  assert.deepEqual(faults, []);
}

run().catch((e) => {
  console.error(e.stack ?? e.message);
  process.exit(1);
});

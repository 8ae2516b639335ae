// Measures what pages feel like on a slow phone: 360 px wide, the processor four times
// slower, 9 and 3 Mbps with 100 ms. The Go test that starts it says in SITE where the
// server is, its pages and the cookie of who is signed in; what is printed is JSON.
import { chromium } from "playwright-core";

const site = JSON.parse(process.env.SITE);
const flags = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"];
const mbps = 1e6 / 8;
const settled = 2000; // ms without an answer, after which a page is taken to be whole

const browser = await chromium.launch({ executablePath: site.chromium, args: flags });
const all = [];
for (const one of site.pages) {
  const context = await browser.newContext({ viewport: { width: 360, height: 740 }, hasTouch: true, isMobile: true });
  if (one.session) await context.addCookies([{ name: "relevel", value: one.session, url: site.url }]);
  await context.addInitScript(observe);
  const first = await measure(context, one);
  const again = await measure(context, one);
  all.push({ name: one.name, first, again });
  await context.close();
}
await browser.close();
console.log(JSON.stringify(all));

// measure opens a page and touches what can be opened or pressed in it.
async function measure(context, one) {
  const page = await context.newPage();
  page.setDefaultTimeout(60_000);
  const cdp = await context.newCDPSession(page);
  const carried = { bytes: 0, requests: 0 };
  let last = performance.now();
  await cdp.send("Network.enable");
  await cdp.send("Network.emulateNetworkConditions", { offline: false, latency: 100, downloadThroughput: 9 * mbps, uploadThroughput: 3 * mbps });
  await cdp.send("Emulation.setCPUThrottlingRate", { rate: 4 });
  cdp.on("Network.loadingFinished", (e) => {
    last = performance.now();
    carried.bytes += e.encodedDataLength;
    carried.requests += e.encodedDataLength > 0 ? 1 : 0;
  });
  await page.goto(site.url + one.path);
  await page.locator(one.shows).first().waitFor();
  while (performance.now() - last < settled) await page.waitForTimeout(100); // streams of events never end
  await page.locator(one.touch).first().tap();
  await page.waitForTimeout(settled);
  const seen = await page.evaluate(() => window.seen);
  await page.close();
  return { ...seen, ...carried };
}

// observe runs in each page before anything else (web.dev/articles/vitals: what counts).
function observe() {
  const seen = (window.seen = { lcp: 0, cls: 0, inp: 0 });
  const watch = (type, each, more) => new PerformanceObserver((list) => list.getEntries().forEach(each)).observe({ type, buffered: true, ...more });
  watch("largest-contentful-paint", (e) => (seen.lcp = e.startTime));
  watch("layout-shift", (e) => { if (!e.hadRecentInput) seen.cls += e.value; });
  watch("event", (e) => { if (e.interactionId) seen.inp = Math.max(seen.inp, e.duration); }, { durationThreshold: 16 });
}

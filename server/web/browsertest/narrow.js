// The narrowest phone that a crew carries, in px: there a page may be long, and nothing
// of it may run out of its place.
const narrowest = 360;

// runsOut lists what scrolls sideways, or is written over its neighbour, on the
// narrowest phone. The page is left as wide as it was.
export async function runsOut(page) {
  const before = page.viewportSize();
  await page.setViewportSize({ width: narrowest, height: 740 });
  const found = await page.evaluate(() => {
    const out = [];
    const wide = document.documentElement.scrollWidth - innerWidth;
    if (wide > 0) out.push(`scrolls sideways by ${wide} px`);
    for (const e of document.querySelectorAll("h1, h2, h3, p, li, dt, dd, th, td, label, summary, caption")) {
      if (!e.checkVisibility() || e.closest(".past, [role=region], svg, pre")) continue;
      const over = e.scrollWidth - e.clientWidth;
      if (over > 1 && e.clientWidth > 0 && getComputedStyle(e).overflowX === "visible" && getComputedStyle(e).display !== "inline") {
        out.push(`${e.outerHTML.slice(0, 90)} runs out of its place by ${over} px`);
      }
    }
    return out;
  });
  await page.setViewportSize(before);
  return found.map((f) => `at ${narrowest} px: ${f}`);
}

// The page of packs follows one that is being made: it asks how far it is, and shows
// where to take it when it is there. Without script there is a link to look again.
"use strict";

const LOOK = 900; // ms between two looks

const waits = () => document.getElementById("packs")?.hasAttribute("data-waits");

// Only what changed is put in, so that what somebody has in hand stays there, and
// that what is read out is the page's number and no more.
function take(fresh) {
  const packs = document.getElementById("packs");
  const lines = packs.querySelectorAll("tbody tr");
  const others = fresh.querySelectorAll("tbody tr");
  if (lines.length !== others.length || !fresh.hasAttribute("data-waits")) {
    packs.replaceWith(fresh);
    return;
  }
  lines.forEach((line, i) => {
    const was = line.querySelector(".far-along");
    const now = others[i].querySelector(".far-along");
    const drawn = line.querySelector(".along .done");
    const along = others[i].querySelector(".along .done");
    if (!was || !now || !drawn !== !along) { if (line.outerHTML !== others[i].outerHTML) line.replaceWith(others[i]); return; }
    if (was.textContent !== now.textContent) was.textContent = now.textContent;
    if (drawn) drawn.setAttribute("d", along.getAttribute("d"));
  });
}

async function look() {
  try {
    const answer = await fetch(location.pathname, { headers: { Accept: "text/html" } });
    const page = answer.ok && new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = page && page.getElementById("packs");
    if (fresh) take(fresh);
  } catch {
    // Away for a moment: the next look tells.
  }
  if (waits()) setTimeout(look, LOOK);
}

if (waits()) setTimeout(look, LOOK);

// An open day sheet follows the work: the lines of jobs in which something happened
// are asked for, and take the place of the old ones. Without script the page is as it
// was when it was opened.
"use strict";

const GATHER = 60; // ms in which news are asked for together
const LINES_AT_ONCE = 40; // no more than the server takes
const LOOK_AGAIN = 5 * 60_000; // the day goes on, and what was in order gets late

class DaySheet {
  #sheet;
  #first = document.getElementById("first");
  #due = new Map(); // job → seq
  #shown = new Map(); // what was asked for, and is no line of this page
  #timer = 0;

  constructor(sheet) { this.#sheet = sheet; }

  listen() {
    const stream = new EventSource("/api/v1/live");
    stream.addEventListener("head", (e) => {
      const { job, seq } = JSON.parse(e.data);
      this.#heard(job, seq);
    });
    stream.addEventListener("job", () => this.#reload());
    setInterval(() => { if (!document.hidden) this.#reload(); }, LOOK_AGAIN);
  }

  #line(job) { return this.#sheet.querySelector(`tr[data-job="${job}"]`); }

  #heard(job, seq) {
    const known = Number(this.#line(job)?.dataset.seq ?? this.#shown.get(job) ?? -1);
    if (seq <= known) return;
    this.#due.set(job, seq);
    this.#timer ||= setTimeout(() => this.#fetch(), GATHER);
  }

  async #fetch() {
    const asked = [...this.#due].slice(0, LINES_AT_ONCE);
    for (const [job] of asked) this.#due.delete(job);
    const query = new URLSearchParams(asked.map(([job, seq]) => ["job", `${job}.${seq}`]));
    if (this.#sheet.dataset.crew) query.set("crew", this.#sheet.dataset.crew);
    try {
      const answer = await fetch(`/lines?${query}`, { headers: { Accept: "text/html" } });
      if (answer.ok) this.#take(new DOMParser().parseFromString(await answer.text(), "text/html"), asked);
    } catch {
      // Away for a moment: the stream comes back and says again where the jobs stand.
    }
    this.#timer = this.#due.size ? setTimeout(() => this.#fetch(), GATHER) : 0;
  }

  #take(fresh, asked) {
    let stranger = false;
    for (const [job, seq] of asked) {
      const line = fresh.querySelector(`tr[data-job="${job}"]`);
      const old = this.#line(job);
      if (!line || !old) {
        this.#shown.set(job, seq);
        stranger ||= Boolean(line) !== Boolean(old);
        continue;
      }
      this.#redraw(old, line);
      this.#first?.querySelectorAll(`[data-of="${job}"]`).forEach((e) => e.remove());
    }
    if (stranger) { this.#reload(); return; }
    for (const item of fresh.querySelectorAll("[data-of]")) this.#putIn(this.#first.querySelector("ul"), item);
    if (this.#first) this.#first.hidden = !this.#first.querySelector("li");
  }

  // A line takes its place by how urgent it is. What somebody has in hand stays there.
  #redraw(old, line) {
    const held = old.contains(document.activeElement) && document.activeElement.getAttribute("href");
    const moved = old.dataset.rank !== line.dataset.rank;
    line.classList.add("changed");
    if (held || !moved) old.replaceWith(line);
    else { const body = old.parentElement; old.remove(); this.#putIn(body, line); }
    if (held) [...line.querySelectorAll("a")].find((a) => a.getAttribute("href") === held)?.focus();
  }

  #putIn(list, item) {
    const after = [...list.children].find((e) => Number(e.dataset.rank) < Number(item.dataset.rank));
    list.insertBefore(item, after ?? null);
  }

  // A job was made, closed or given to another crew, or the day has gone on.
  async #reload() {
    try {
      const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
      if (!answer.ok) return;
      const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
      if (document.activeElement?.closest("#sheet, #first, #firm-wants")) return; // next time
      for (const id of ["first", "sheet", "firm-wants"]) {
        const [old, now] = [document.getElementById(id), fresh.getElementById(id)];
        if (old && now) old.replaceWith(now);
      }
      this.#sheet = document.getElementById("sheet");
      this.#first = document.getElementById("first");
    } catch {
      // The next time.
    }
  }
}

const daySheet = document.getElementById("sheet");
if (daySheet && document.getElementById("first") && window.EventSource) new DaySheet(daySheet).listen();

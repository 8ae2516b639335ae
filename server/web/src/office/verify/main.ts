// The page on which anybody checks a bundle. The file goes to a worker of this page and
// to nobody else.
interface Report {
  error?: string;
  heading?: string;
  caveat?: string;
  verdict?: "holds" | "partly" | "changed";
  firm?: string;
  job?: string;
  place?: string;
  faults?: { says: string }[];
  more?: number;
  open?: string[];
  held?: string[];
  unbound?: string[];
}

type Said = { ready: true } | { failed: string } | { number: number; read: number } | { number: number; report: string };

const byId = <T extends HTMLElement>(id: string) => document.getElementById(id) as T;
const place = byId("verify");
const working = byId("working");
const shown = byId("report");
const chosen = byId<HTMLInputElement>("bundle");
const kept = byId<HTMLInputElement>("against");
const keys = byId<HTMLTextAreaElement>("keys");

const worker = new Worker(place.dataset.worker ?? "");
let ready = false;
let waiting: File | undefined;
let asked = 0; // the number of the last check: what an earlier one says is of another file

place.hidden = false;
working.textContent = "Getting ready …";

worker.onmessage = (m: MessageEvent<Said>) => {
  const said = m.data;
  if ("ready" in said) {
    ready = true;
    working.textContent = "";
    if (waiting) void check(waiting);
  } else if ("failed" in said) {
    working.textContent = `This browser cannot check a bundle (${said.failed}). Use the program: relevel verify FILE.`;
  } else if (said.number !== asked) {
    return;
  } else if ("read" in said) {
    working.textContent = `Checking … ${Math.round(100 * said.read)} %`;
  } else {
    working.textContent = "";
    show(JSON.parse(said.report) as Report);
  }
};

async function check(file: File): Promise<void> {
  waiting = file;
  if (!ready) return;
  shown.hidden = true;
  working.textContent = "Checking …";
  const number = ++asked;
  const against = await Promise.all([...(kept.files ?? [])].map((f) => f.text()));
  worker.postMessage({ number, file, keys: keys.value, against });
}

function show(r: Report): void {
  shown.replaceChildren();
  shown.className = r.error ? "changed" : (r.verdict ?? "");
  const whose = [r.job, r.place, r.firm].filter(Boolean).join(", ");
  add("h2", r.error ? `It cannot be read: ${r.error}` : (r.heading ?? ""));
  if (whose) add("p", whose).className = "place";
  const faults = (r.faults ?? []).map((f) => f.says);
  if (r.more) faults.push(`and ${r.more} more`);
  list("What does not hold", faults);
  list("What could not be checked", r.open);
  list("What holds", r.held);
  list("What nothing signed vouches for", r.unbound);
  if (r.caveat) add("p", r.caveat).className = "caution";
  shown.hidden = false;
  shown.focus();
}

function add(tag: string, text: string): HTMLElement {
  const one = document.createElement(tag);
  one.textContent = text;
  return shown.appendChild(one);
}

function list(heading: string, lines: string[] | undefined): void {
  if (!lines?.length) return;
  add("h3", heading);
  const all = shown.appendChild(document.createElement("ul"));
  for (const line of lines) all.appendChild(document.createElement("li")).textContent = line;
}

const again = () => {
  const file = chosen.files?.[0] ?? waiting;
  if (file) void check(file);
};
for (const one of [kept, keys]) one.addEventListener("change", again);
chosen.addEventListener("change", again);

document.addEventListener("dragover", (e) => {
  e.preventDefault();
  document.body.classList.add("over");
});
document.addEventListener("dragleave", () => document.body.classList.remove("over"));
document.addEventListener("drop", (e) => {
  e.preventDefault();
  document.body.classList.remove("over");
  const file = e.dataTransfer?.files[0];
  if (!file) return;
  chosen.value = "";
  void check(file);
});

export {};

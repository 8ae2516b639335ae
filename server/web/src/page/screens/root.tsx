// Which screen is shown: what has to come first, else where the address leads.
import { installed, wipesTabs } from "../device.ts";
import { recorders } from "../record/recorders.tsx";
import { useApp, useChanges } from "../ui/app.tsx";
import { Empty, Frame } from "../ui/frame.tsx";
import { BookScreen } from "./book.tsx";
import { Install } from "./install.tsx";
import { JobScreen } from "./job.tsx";
import { Jobs } from "./jobs.tsx";
import { Me } from "./me.tsx";
import { MoveScreen } from "./move.tsx";
import { More } from "./more.tsx";
import { Pair } from "./pair.tsx";
import { Sending } from "./sending.tsx";
import { SupportScreen } from "./support.tsx";
import { Who } from "./who.tsx";

export function Root() {
  const app = useApp();
  useChanges(app);
  const [first, id, what, which] = app.route.path;
  if (first === "sending") return <Sending />; // reached whatever else is amiss
  if (wipesTabs() && !installed() && !app.settings.tab) return <Install />;
  if (!app.paired || first === "pair") return <Pair />;
  if (!app.who || first === "who") return <Who />;
  if (first === "me") return <Me />;
  if (first !== "job" || !id) return <Jobs />;
  return <OnJob key={id} id={id} what={what} which={which} />;
}

function OnJob(p: { id: string; what: string | undefined; which: string | undefined }) {
  const app = useApp();
  const book = app.book(p.id);
  const picture = book.picture;
  const query = app.route.query;
  if (!picture) {
    return (
      <Frame title={app.job(p.id)?.name ?? "Job"} back="#/">
        {book.failed ? <Empty>The figures could not be reckoned: {book.failed}</Empty> : <Empty>Reading the book of this job.</Empty>}
      </Frame>
    );
  }
  const at = { book, picture, query };
  switch (p.what) {
    case "support":
      return <SupportScreen key={p.which} {...at} id={p.which ?? ""} />;
    case "move":
      return <MoveScreen {...at} />;
    case "book":
      return <BookScreen {...at} />;
    case "more":
      return <More {...at} />;
    case "do": {
      const Recorder = recorders[p.which ?? ""];
      if (Recorder) return <Recorder key={app.route.query.toString()} {...at} />;
      break;
    }
    case undefined:
      return <JobScreen {...at} />;
  }
  return <Frame title="Not here" back={`#/job/${p.id}`}><Empty way={{ to: `#/job/${p.id}`, label: "To the floor" }}>There is nothing at this address.</Empty></Frame>;
}

// This phone: who uses it, how it looks, what it keeps.
import { useState } from "preact/hooks";
import type { Shown } from "../../shared/length.ts";
import { installed } from "../device.ts";
import { address } from "../route.ts";
import { Hold, Way, Words } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Frame } from "../ui/frame.tsx";

export function Me() {
  const app = useApp();
  const [wrong, setWrong] = useState("");
  const leave = async () => {
    try {
      await app.leave();
    } catch (e) {
      setWrong(e instanceof Error ? e.message : String(e));
    }
  };
  return (
    <Frame title="This phone" back="#/">
      <p>{app.who?.name} records, for {app.office?.firm.name ?? "a firm that was not heard from yet"}.</p>
      <div class="acts">
        <Way to={address(["who"])}>Somebody else</Way>
        <Way to={address(["sending"])}>What is on this phone</Way>
      </div>
      <h2>Light</h2>
      <Words label="Light" of={[{ value: "dark", label: "Black" }, { value: "light", label: "Paper, for the sun" }]} chosen={[app.settings.theme]} choose={(theme) => void app.set({ theme })} />
      <h2>Lengths</h2>
      <Words<Shown> label="Lengths" of={[{ value: "mm", label: "Millimetres" }, { value: "in", label: "Inches, 1⁄16" }, { value: "ft", label: "Feet, hundredths" }]} chosen={[app.unit]} choose={(unit) => void app.set({ unit: unit === app.firmUnit ? undefined : unit })} />
      <h2>A lift is measured with</h2>
      <Words label="A lift is measured with" of={[{ value: "rule", label: "Rule" }, { value: "dial", label: "Dial" }, { value: "turns", label: "Turns of the screw" }]} chosen={[app.settings.gauge]} choose={(gauge) => void app.set({ gauge })} />
      <h2>What it keeps</h2>
      <Keeping />
      <h2>The firm</h2>
      <div class="acts">
        <Way sort="quiet" to={address(["pair"])}>Pair again</Way>
        <Hold sort="stop" do={leave}>Leave this firm</Hold>
      </div>
      {wrong ? <p class="danger" role="alert">{wrong}</p> : null}
    </Frame>
  );
}

function Keeping() {
  const app = useApp();
  const mb = (n: number | undefined) => (n === undefined ? "unknown" : `${Math.round(n / 1e6)} MB`);
  return (
    <dl class="kvs">
      <dt>Where it runs</dt>
      <dd>{installed() ? "from the home screen" : "in a browser tab"}</dd>
      <dt>Kept when room is short</dt>
      <dd>{app.room === undefined ? "not known yet" : app.room.persisted ? "yes, the browser promised it" : "the browser promised nothing: send often"}</dd>
      <dt>Room</dt>
      <dd>{mb(app.room?.used)} of {mb(app.room?.quota)} used</dd>
      <dt>Version</dt>
      <dd>{app.update.version ?? "not kept on the phone yet"}{app.update.waiting ? ", a newer one waits" : ""}</dd>
    </dl>
  );
}

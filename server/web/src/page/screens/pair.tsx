// Pairing: a code from the office, typed or scanned in the app itself.
import { useState } from "preact/hooks";
import { deviceName } from "../device.ts";
import { address, go } from "../route.ts";
import { Act } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Frame } from "../ui/frame.tsx";
import { Scan } from "../ui/scan.tsx";

export function Pair() {
  const app = useApp();
  const [code, setCode] = useState("");
  const [name, setName] = useState(deviceName());
  const [wrong, setWrong] = useState("");
  const pair = async (text: string) => {
    try {
      await app.pair(text.trim(), name);
      go(address([]), true);
    } catch (e) {
      setWrong(e instanceof Error ? e.message : String(e));
    }
  };
  return (
    <Frame title={app.paired ? "Pair again" : "Pair this phone"} {...(app.paired ? { back: "#/me" } : {})}>
      <p>Somebody in the office opens “Devices” and reads out a code. It opens once, for ten minutes.</p>
      {app.held.records + app.held.shots > 0 ? <p>What is on this phone stays, and is sent as soon as it is paired.</p> : null}
      <label class="field">
        Code
        <input value={code} onInput={(e) => setCode(e.currentTarget.value)} autocomplete="off" autocapitalize="characters" spellcheck={false} maxLength={12} inputMode="text" />
      </label>
      <label class="field">
        A name for this phone
        <input value={name} onInput={(e) => setName(e.currentTarget.value)} maxLength={60} />
      </label>
      {wrong ? <p class="danger" role="alert">{wrong}</p> : null}
      <Act sort="main" disabled={code.trim().length < 8 || !name.trim()} do={() => pair(code)}>Pair</Act>
      <Scan label="Scan the code" found={pair} />
    </Frame>
  );
}

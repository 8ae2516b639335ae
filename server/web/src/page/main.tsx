// The app's beginning: the store is opened, the first screen drawn from what was
// kept, and only then the worker, the sending and the office are started.
import { render } from "preact";
import "../../static/drawing.css";
import { openStore } from "../shared/store.ts";
import { App } from "./app.ts";
import { secure } from "./device.ts";
import { NoStore, PlainHttp } from "./screens/refused.tsx";
import { Root } from "./screens/root.tsx";
import { AppProvider } from "./ui/app.tsx";

const place = document.getElementById("app")!;

async function start(): Promise<void> {
  if (!secure()) return render(<PlainHttp />, place);
  let app: App | undefined;
  const store = await openStore("relevel", {
    blocking: () => location.reload(), // a newer app in another window needs the store
    broken: () => app?.storeBroke(),
  });
  app = new App(store);
  await app.start();
  render(<AppProvider value={app}><Root /></AppProvider>, place);
  void app.update.start().catch(() => {}); // without it the app works while there is signal
  requestAnimationFrame(() => setTimeout(() => app.begin()));
}

start().catch((e: unknown) => render(<NoStore why={e instanceof Error ? e.message : String(e)} />, place));

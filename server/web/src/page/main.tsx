// The app's beginning: the store is opened, the first screen drawn from what was
// kept, and only then the worker, the sending and the office are started.
import { render, type ComponentChild } from "preact";
import "../../static/drawing.css";
import { openStore } from "../shared/store.ts";
import { App } from "./app.ts";
import { secure } from "./device.ts";
import { NoStore, PlainHttp } from "./screens/refused.tsx";
import { Root } from "./screens/root.tsx";
import { AppProvider } from "./ui/app.tsx";

const place = document.getElementById("app")!;

/** Draws in place of what the page says while it starts. */
function show(screen: ComponentChild): void {
  place.replaceChildren();
  render(screen, place);
}

async function start(): Promise<void> {
  if (!secure()) return show(<PlainHttp />);
  let app: App | undefined;
  const store = await openStore("relevel", {
    blocking: () => location.reload(), // a newer app in another window needs the store
    broken: () => app?.storeBroke(),
  });
  app = new App(store);
  await app.start();
  show(<AppProvider value={app}><Root /></AppProvider>);
  void app.update.start().catch(() => {}); // without it the app works while there is signal
  requestAnimationFrame(() => setTimeout(() => app.begin()));
}

start().catch((e: unknown) => show(<NoStore why={e instanceof Error ? e.message : String(e)} />));

// The app, for every component below the root.
import { createContext } from "preact";
import { useContext, useEffect, useState } from "preact/hooks";
import type { App } from "../app.ts";

const Context = createContext<App | undefined>(undefined);
export const AppProvider = Context.Provider;

export function useApp(): App {
  const app = useContext(Context);
  if (!app) throw new Error("no app around this component");
  return app;
}

/** Draws the caller anew whenever the app changed. */
export function useChanges(app: App): void {
  const [, count] = useState(0);
  useEffect(() => app.watch(() => count((n) => n + 1)), [app]);
}

/** The answer of a question that is asked anew when its causes change; the last one
 *  stays meanwhile. */
export function useAnswer<T>(ask: () => Promise<T>, causes: readonly unknown[]): { value?: T; failed?: string } {
  const [answer, set] = useState<{ value?: T; failed?: string }>({});
  useEffect(() => {
    let wanted = true;
    ask().then(
      (value) => wanted && set({ value }),
      (e: unknown) => wanted && set((was) => ({ ...was, failed: e instanceof Error ? e.message : String(e) })),
    );
    return () => {
      wanted = false;
    };
  }, causes);
  return answer;
}

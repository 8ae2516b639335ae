// What can be pressed.
import type { ComponentChildren } from "preact";
import { useRef, useState } from "preact/hooks";
import "./act.css";

interface Props {
  children: ComponentChildren;
  do: () => unknown;
  sort?: "main" | "quiet" | "stop" | undefined; // the next step, one that is seldom wanted, or one that stops
  disabled?: boolean | undefined;
  on?: boolean | undefined; // it is chosen
  label?: string | undefined;
}

/** A button. While what it does is under way a second touch of a glove does nothing. */
export function Act(p: Props) {
  const busy = useRef(false);
  const press = () => {
    if (busy.current) return;
    const under = p.do();
    if (!(under instanceof Promise)) return;
    busy.current = true;
    void under.finally(() => (busy.current = false));
  };
  return (
    <button type="button" class={`act ${p.sort ?? ""}`} disabled={p.disabled} aria-pressed={p.on} aria-label={p.label} onClick={press}>
      {p.children}
    </button>
  );
}

/** A way to another screen. */
export function Way(p: { children: ComponentChildren; to: string; sort?: Props["sort"]; label?: string }) {
  return (
    <a class={`act ${p.sort ?? ""}`} href={p.to} aria-label={p.label}>
      {p.children}
    </a>
  );
}

const holdMS = 800;
const secondTouchMS = 4000;

/** What cannot be taken back: held for a moment, or touched twice. */
export function Hold(p: Props) {
  const [armed, arm] = useState(false);
  const [held, hold] = useState(false);
  const timer = useRef<ReturnType<typeof setTimeout>>(undefined);
  const fired = useRef(false);
  const busy = useRef(false);
  const doIt = async () => {
    if (busy.current) return;
    busy.current = true;
    arm(false);
    try {
      await p.do();
    } finally {
      busy.current = false;
    }
  };
  const down = () => {
    fired.current = false;
    hold(true);
    clearTimeout(timer.current);
    timer.current = setTimeout(() => {
      fired.current = true;
      hold(false);
      void doIt();
    }, holdMS);
  };
  const up = () => {
    clearTimeout(timer.current);
    hold(false);
  };
  const click = () => {
    if (fired.current) {
      fired.current = false; // the end of a hold is no touch
      return;
    }
    if (armed) return void doIt();
    arm(true);
    setTimeout(() => arm(false), secondTouchMS);
  };
  return (
    <button type="button" class={`act hold ${p.sort ?? ""} ${held ? "held" : ""}`} disabled={p.disabled} aria-label={p.label}
      onPointerDown={down} onPointerUp={up} onPointerLeave={up} onPointerCancel={up} onClick={click} onContextMenu={(e) => e.preventDefault()}>
      {p.children}
      <small>{armed ? "touch again" : "hold, or touch twice"}</small>
    </button>
  );
}

/** Words to choose one or several of. */
export function Words<T extends string>(p: { of: readonly { value: T; label: string }[]; chosen: readonly T[]; choose: (v: T) => void; label: string; small?: boolean; short?: boolean }) {
  return (
    <div class={p.small ? "words small" : p.short ? "words short" : "words"} role="group" aria-label={p.label}>
      {p.of.map((w) => (
        <Act key={w.value} do={() => p.choose(w.value)} on={p.chosen.includes(w.value)}>
          {w.label}
        </Act>
      ))}
    </div>
  );
}

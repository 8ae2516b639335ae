// The fields of a form beside the drawing. What is typed counts when the field is
// left or Enter is pressed; what is wrong with it stands under it, and stays typed.
import type { ComponentChildren, JSX } from "preact";
import { useEffect, useId, useRef, useState } from "preact/hooks";
import { round } from "./geometry.ts";
import { fieldLength, parseLength } from "./measure.ts";

interface FieldProps {
  label: string;
  value: string;
  take: (text: string) => string | undefined; // what is wrong with it, or undefined
  note?: string;
  wrong?: string | undefined; // what the server says
  narrow?: boolean;
  figures?: boolean;
  as?: (input: HTMLInputElement | null) => void; // who wants to put the focus here
}

export function Field({ label, value, take, note, wrong, narrow, figures, as }: FieldProps): JSX.Element {
  const id = useId();
  const input = useRef<HTMLInputElement>(null);
  const [typed, setTyped] = useState<{ text: string; cure?: string } | undefined>(); // what stands in it while it does not count
  useEffect(() => setTyped(undefined), [value]);
  const cure = typed?.cure ?? wrong;
  const commit = (text: string): void => {
    const cure = text === value ? undefined : take(text);
    setTyped(cure === undefined ? undefined : { text, cure });
  };
  const described = [note ? `${id}-note` : "", cure ? `${id}-wrong` : ""].filter(Boolean).join(" ");
  return (
    <div class={`field${narrow ? " narrow" : ""}${cure ? " is-wrong" : ""}`}>
      <label for={id}>{label}</label>
      <input id={id} ref={(el) => { input.current = el; as?.(el); }} class={figures ? "figures" : ""} value={typed?.text ?? value} autocomplete="off" spellcheck={false}
        {...(figures ? { inputMode: "text" as const } : {})} aria-invalid={cure ? true : undefined} aria-describedby={described || undefined} onInput={(ev) => setTyped({ text: ev.currentTarget.value })} onChange={(ev) => commit(ev.currentTarget.value)} />
      {note && <p class="note" id={`${id}-note`}>{note}</p>}
      {cure && <p class="wrong" id={`${id}-wrong`}>{cure}</p>}
    </div>
  );
}

/** A length or a place in metres, or in feet and inches. */
export function LengthField({ label, value, feet, take, ...rest }: { label: string; value: number | undefined; feet: boolean; take: (metres: number) => void; wrong?: string | undefined; note?: string }): JSX.Element {
  return (
    <Field label={label} narrow figures value={value === undefined ? "" : fieldLength(value, feet)} {...rest} take={(text) => {
      const metres = parseLength(text, feet);
      if (metres === undefined) return feet ? "a length: 5' 2\", or 1.57 m" : "a length in metres: 1.5";
      take(round(metres));
      return undefined;
    }} />
  );
}

/** A figure that may be left empty. */
export function NumberField({ label, value, take, note, wrong }: { label: string; value: number | undefined; take: (n: number | undefined) => void; note?: string; wrong?: string | undefined }): JSX.Element {
  return (
    <Field label={label} narrow figures value={value === undefined ? "" : String(value)} {...(note ? { note } : {})} wrong={wrong} take={(text) => {
      const t = text.trim().replace(",", ".").replace("−", "-");
      const n = Number(t);
      if (t !== "" && !Number.isFinite(n)) return "a figure, or nothing";
      take(t === "" ? undefined : n);
      return undefined;
    }} />
  );
}

export interface Option { value: string; label: string }

export function Choice({ label, value, options, take, wrong, note }: { label: string; value: string; options: Option[]; take: (value: string) => void; wrong?: string | undefined; note?: string }): JSX.Element {
  const id = useId();
  return (
    <div class={`field narrow${wrong ? " is-wrong" : ""}`}>
      <label for={id}>{label}</label>
      <select id={id} value={value} aria-describedby={wrong || note ? `${id}-wrong` : undefined} onChange={(e) => take(e.currentTarget.value)}>
        {options.map((o) => <option key={o.value} value={o.value} selected={o.value === value}>{o.label}</option>)}
      </select>
      {(wrong || note) && <p class={wrong ? "wrong" : "note"} id={`${id}-wrong`}>{wrong ?? note}</p>}
    </div>
  );
}

export function Yes({ label, value, take }: { label: string; value: boolean; take: (yes: boolean) => void }): JSX.Element {
  return <label class="yes"><input type="checkbox" checked={value} onChange={(e) => take(e.currentTarget.checked)} />{label}</label>;
}

export function Cells({ children }: { children: ComponentChildren }): JSX.Element {
  return <div class="plan-cells">{children}</div>;
}

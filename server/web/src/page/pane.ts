// A drawing seen through a window: zoomed, dragged, and drawn anew under the same
// look. It stands outside the tree of components, which would lose the focus with
// every redraw.
import { Hand } from "./hand.ts";
import { cut, redraw, type Cut } from "./redraw.ts";
import { begin, held, into, moved, pinched, sheetOf, turned, whole, zoomed, type Look, type Place, type Size } from "./zoom.ts";

const step = 1.5; // by which a button zooms
const stride = 0.3; // of the window, by which a key moves
const clear = 8; // px around what has the focus, for its frame
const mostSettling = 8; // more at once is no movement to follow with the eye
const arrows: Record<string, Place> = { ArrowLeft: { x: 1, y: 0 }, ArrowRight: { x: -1, y: 0 }, ArrowUp: { x: 0, y: 1 }, ArrowDown: { x: 0, y: -1 } };

export class Pane {
  private look: Look | undefined;
  private shown: Cut | undefined;
  private still = false; // while the focus is only put back
  private sheet: Size = { wide: 1, high: 1 };
  private around: Place | undefined; // where one begins
  private resized = new ResizeObserver(() => this.take(this.look));
  private hand: Hand;

  /** The sheet lies in the window; keep is told every look that somebody chose. */
  constructor(private window: HTMLElement, private drawn: HTMLElement, look: Look | undefined, private keep: (look: Look) => void) {
    this.look = look;
    this.hand = new Hand(window, (by) => this.move(by), (from, to) => this.take(this.look && pinched(this.look, from, to, this.sheet, this.size)));
    this.listen();
    this.resized.observe(window);
  }

  end(): void {
    this.resized.disconnect();
  }

  private listen(): void {
    const on = <K extends keyof HTMLElementEventMap>(name: K, then: (e: HTMLElementEventMap[K]) => void, capture = false) =>
      this.window.addEventListener(name, then, capture);
    on("pointerdown", (e) => this.hand.down(e));
    on("pointermove", (e) => this.hand.move(e));
    on("pointerup", (e) => this.lifted(e));
    on("pointercancel", (e) => this.lifted(e));
    on("click", (e) => this.hand.click(e), true);
    on("dragstart", (e) => e.preventDefault()); // a link would be carried off
    on("keydown", (e) => this.key(e));
    on("focusin", (e) => this.focused(e));
  }

  /** Draws anew what may have been turned by quarters since. Whoever has not looked yet
   *  begins around a support, if one is named. */
  draw(svg: string, quarters: number, support?: string): void {
    const start = performance.now();
    const [before, focus, after] = [this.sheet, this.focus(), cut(svg)];
    const alone = redraw(this.drawn, this.shown, after, svg);
    this.shown = after;
    this.sheet = sheetOf(svg);
    if (!this.look) this.around = this.placeOf(support);
    this.take(this.look && quarters ? turned(this.look, quarters, before, this.sheet, this.size) : this.look);
    this.refocus(focus);
    settle(alone);
    performance.measure("floor drawn", { start });
  }

  /** Where on the drawing, at full size, a support stands. */
  private placeOf(support: string | undefined): Place | undefined {
    const part = support && this.drawn.querySelector(`[data-support="${CSS.escape(support)}"]`);
    if (!part) return undefined;
    const [sheet, box] = [this.drawn.getBoundingClientRect(), part.getBoundingClientRect()];
    return { x: box.x + box.width / 2 - sheet.x, y: box.y + box.height / 2 - sheet.y };
  }

  closer(): void {
    this.zoom(step);
  }

  further(): void {
    this.zoom(1 / step);
  }

  all(): void {
    this.chosen(whole(this.sheet, this.size));
  }

  private zoom(by: number): void {
    const { wide, high } = this.size;
    if (this.look) this.chosen(zoomed(this.look, by, { x: wide / 2, y: high / 2 }, this.sheet, this.size));
  }

  private move(by: Place): void {
    if (this.look) this.take(moved(this.look, by, this.sheet, this.size));
  }

  private get size(): Size {
    return { wide: this.window.clientWidth, high: this.window.clientHeight };
  }

  private chosen(look: Look): void {
    this.take(look);
    if (this.look) this.keep(this.look);
  }

  /** Shows a look, or the first one. Without a size or a drawing there is none yet. */
  private take(look: Look | undefined): void {
    if (this.size.wide === 0 || !this.drawn.firstElementChild) return;
    const { scale, x, y } = (this.look = look ? held(look, this.sheet, this.size) : begin(this.sheet, this.size, this.around));
    this.drawn.style.transform = `translate(${x}px, ${y}px) scale(${scale})`;
  }

  private lifted(e: PointerEvent): void {
    this.hand.up(e);
    if (this.look) this.keep(this.look);
  }

  private key(e: KeyboardEvent): void {
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    const to = arrows[e.key];
    const { wide, high } = this.size;
    if (to && this.look) this.chosen(moved(this.look, { x: to.x * wide * stride, y: to.y * high * stride }, this.sheet, this.size));
    else if (e.key === "+" || e.key === "=") this.closer();
    else if (e.key === "-") this.further();
    else if (e.key === "0") this.all();
    else return;
    e.preventDefault();
  }

  /** What has the focus is brought into the window, which the browser would scroll. */
  private focused(e: FocusEvent): void {
    this.window.scrollTo(0, 0);
    const part = e.target as Element;
    if (this.still || part === this.window || !this.look || !part.matches(":focus-visible")) return;
    const [box, frame] = [part.getBoundingClientRect(), this.window.getBoundingClientRect()];
    const at = { x: box.left - frame.left - clear, y: box.top - frame.top - clear };
    this.take(into(this.look, { ...at, wide: box.width + 2 * clear, high: box.height + 2 * clear }, this.sheet, this.size));
  }

  private focus(): string | undefined {
    const at = document.activeElement;
    return at && this.drawn.contains(at) ? at.getAttribute("data-support") ?? undefined : undefined;
  }

  /** Nobody moved to it: the look stays. */
  private refocus(id: string | undefined): void {
    if (id === undefined) return;
    this.still = true;
    this.support(id)?.focus({ preventScroll: true });
    this.still = false;
  }

  private support(id: string): SVGElement | null {
    return this.drawn.querySelector<SVGElement>(`[data-support="${CSS.escape(id)}"]`);
  }
}

/** The few supports that changed settle into their place. */
function settle(changed: Element[]): void {
  if (changed.length > mostSettling || matchMedia("(prefers-reduced-motion: reduce)").matches) return;
  for (const s of changed) s.animate([{ transform: "translateY(5px)" }, { transform: "none" }], { duration: 200, easing: "ease-out" });
}

// What fingers on a drawing mean: one drags it, two pinch it, and one that went
// nowhere is left to whatever it touched.
import { apart, type Place } from "./zoom.ts";

const still = 9; // px that a finger in a glove moves without meaning it

/** The handlers of one drawing. */
export class Hand {
  private fingers = new Map<number, Place>();
  private from: Place | undefined; // where the first finger came down
  private dragging = false;

  constructor(
    private window: HTMLElement,
    private drag: (by: Place) => void,
    private pinch: (from: [Place, Place], to: [Place, Place]) => void,
  ) {}

  down(e: PointerEvent): void {
    if (e.button !== 0) return;
    if (this.fingers.size === 0) {
      this.from = this.place(e);
      this.dragging = false;
    }
    this.fingers.set(e.pointerId, this.place(e));
  }

  move(e: PointerEvent): void {
    const was = this.fingers.get(e.pointerId);
    if (!was || !this.from) return;
    const is = this.place(e);
    if (!this.begun(e, is)) return;
    const other = [...this.fingers].find(([id]) => id !== e.pointerId)?.[1];
    this.fingers.set(e.pointerId, is);
    if (other) this.pinch([was, other], [is, other]);
    else this.drag({ x: is.x - was.x, y: is.y - was.y });
  }

  /** Only a drag takes hold of the finger: held from the start, what lies under it
   *  would never be touched. */
  private begun(e: PointerEvent, is: Place): boolean {
    if (this.fingers.size > 1 || apart(is, this.from!) > still) this.dragging = true;
    if (this.dragging && !this.window.hasPointerCapture(e.pointerId)) this.window.setPointerCapture(e.pointerId);
    return this.dragging;
  }

  up(e: PointerEvent): void {
    this.fingers.delete(e.pointerId);
    if (this.fingers.size === 0) setTimeout(() => (this.dragging = false)); // the click comes before that, if one does
  }

  /** The end of a drag touches nothing. */
  click(e: Event): void {
    if (!this.dragging) return;
    e.preventDefault();
    e.stopPropagation();
  }

  private place(e: PointerEvent): Place {
    const box = this.window.getBoundingClientRect();
    return { x: e.clientX - box.left, y: e.clientY - box.top };
  }
}

// Chance that can be played again.

/** Random gives the same numbers for the same seed: the generator mulberry32,
 *  which is small and good enough to choose what goes wrong. */
export class Random {
  constructor(private state: number) {
    for (let i = 0; i < 8; i++) this.next(); // seeds beside each other part
  }

  /** A number from 0 up to 1. */
  next(): number {
    this.state = (this.state + 0x6d2b79f5) | 0;
    let t = Math.imul(this.state ^ (this.state >>> 15), 1 | this.state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  }

  /** A whole number from low up to and with high. */
  int(low: number, high: number): number {
    return low + Math.floor(this.next() * (high - low + 1));
  }

  chance(p: number): boolean {
    return this.next() < p;
  }

  pick<T>(list: readonly T[]): T {
    return list[this.int(0, list.length - 1)]!;
  }

  shuffled<T>(list: readonly T[]): T[] {
    const out = [...list];
    for (let i = out.length - 1; i > 0; i--) {
      const j = this.int(0, i);
      [out[i], out[j]] = [out[j]!, out[i]!];
    }
    return out;
  }

  fill(bytes: Uint8Array): Uint8Array {
    for (let i = 0; i < bytes.length; i++) bytes[i] = this.int(0, 255);
    return bytes;
  }
}

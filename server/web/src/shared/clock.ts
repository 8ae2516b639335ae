// This device's clock, and how far off it is. Nothing is refused for a wrong
// clock: each event says the session of the clock it was recorded in, and the
// offset where one was measured; the fold corrects by it.

export interface Times {
  now(): number; // ms since 1970, by the device: may step
  steady(): number; // ms since some moment, never steps
}

export const deviceTimes: Times = { now: () => Date.now(), steady: () => performance.now() };

/** How far the two clocks may part before the device's was stepped: far above
 *  what a phone's quartz drifts in a day. */
const stepMS = 2000;

/** Round trips beyond this say too little of an offset. */
const longestTripMS = 10_000;

/** Clock names sessions: one from the start of the app, or from when the device's
 *  clock was stepped, to the next. */
export class Clock {
  session: string;
  offset: number | undefined; // server − device, ms; undefined: not measured in this session
  private trip = Infinity;
  private apart: number; // device − steady, at the start of the session
  private since: number; // when the session started, by the device

  constructor(private times: Times, private name: () => string) {
    this.session = name();
    this.since = times.now();
    this.apart = this.since - times.steady();
  }

  /** The time by the device, after looking whether it was stepped. */
  now(): number {
    const now = this.times.now();
    if (Math.abs(now - this.times.steady() - this.apart) > stepMS) {
      this.session = this.name();
      this.offset = undefined;
      this.trip = Infinity;
      this.since = now;
      this.apart = now - this.times.steady();
    }
    return now;
  }

  /** Learns from an answer that carries the server's time. The shortest round trip
   *  of a session counts: the server's time lies within it. A trip that began before
   *  the session was measured by two clocks. */
  learn(serverMS: number, sentMS: number, receivedMS: number): void {
    this.now();
    const trip = receivedMS - sentMS;
    if (sentMS < this.since || !(trip >= 0 && trip <= longestTripMS) || trip >= this.trip) return;
    this.trip = trip;
    this.offset = Math.round(serverMS - (sentMS + trip / 2));
  }
}

// The server as a phone sees it.
import type { Heard } from "./kept.ts";
import type { ID } from "./event.ts";

/** Why a call came to nothing. */
export type Trouble =
  | "unreachable" // no answer, one that broke off, or one that is not the server's: try again
  | "busy" // the server asks to come back later
  | "unpaired" // it does not know this phone any more: keep everything, pair again
  | "refused"; // it will not take this, whenever it is sent

export class WireError extends Error {
  override name = "WireError";
  constructor(public trouble: Trouble, message: string, public waitMS = 0) {
    super(message);
  }
}

export interface Result {
  id: ID;
  outcome: "stored" | "repeated" | "erased" | "quarantined";
  seq?: number;
  reason?: string;
}

/** Wire is one way to the server. Every call rejects with a WireError and nothing
 *  else; none waits for ever. Each may have been carried out although it rejects. */
export interface Wire {
  /** Sends events of one job by their exact texts; answers for each in order. */
  append(job: ID, texts: string[]): Promise<Result[]>;

  /** The events of a job after a number, by number, and the number of its last. */
  pull(job: ID, after: number, limit: number): Promise<{ events: Heard[]; seq: number }>;

  /** Sends the bytes of a shot under their digest; answers how safe they are. */
  put(sha256: string, media: string, type: "photo" | "sound", data: ArrayBuffer): Promise<"received" | "stored" | "durable">;

  /** The last checkpoint of a job, a signed note; undefined where none was signed, or
   *  the server signs nothing. */
  checkpoint(job: ID): Promise<string | undefined>;

  /** The proof that the checkpoint of one size continues another; undefined where the
   *  server has none. */
  joint(job: ID, from: number, to: number): Promise<string | undefined>;

  /** How safe a shot is that was sent before; undefined where the server has none. */
  kept(sha256: string): Promise<"received" | "stored" | "durable" | undefined>;
}

import "fake-indexeddb/auto";
import assert from "node:assert/strict";
import { describe, it } from "node:test";
import type { Kept } from "../shared/kept.ts";
import { Disk, Memory } from "../shared/memory.ts";
import { openStore } from "../shared/store.ts";
import { copyOf, draft, listed, photo, suite } from "./kept.ts";

suite("Memory", async () => {
  const disk = new Disk();
  let full = false;
  const before = () => {
    if (!full) return;
    full = false;
    throw new Error("full");
  };
  return { kept: new Memory(disk, before), beside: async () => new Memory(disk), fill: () => (full = true) };
});

let stores = 0;

suite("Store", async () => {
  const name = `suite ${++stores}`;
  return { kept: await openStore(name), beside: () => openStore(name), fill: failNextWrite };
});

/** The next transaction that writes fails when all of it was asked for, as one does
 *  that the disk has no room for. */
function failNextWrite(): void {
  const real = IDBDatabase.prototype.transaction;
  IDBDatabase.prototype.transaction = function (this: IDBDatabase, ...a: Parameters<typeof real>) {
    const tx = real.apply(this, a);
    if (a[1] !== "readwrite") return tx;
    IDBDatabase.prototype.transaction = real;
    failLastWrite(tx);
    return tx;
  };
}

function failLastWrite(tx: IDBTransaction): void {
  const real = tx.objectStore.bind(tx);
  tx.objectStore = (name) => {
    const store = real(name);
    for (const call of ["put", "add", "delete"] as const) {
      const write = store[call].bind(store) as (...a: unknown[]) => IDBRequest;
      store[call] = (...a: unknown[]) => {
        const request = write(...a);
        request.addEventListener("success", () => {
          try {
            tx.abort();
          } catch {
            // it was aborted by the write before
          }
        });
        return request as IDBRequest<undefined> & IDBRequest<IDBValidKey>;
      };
    }
    return store;
  };
}

describe("Store", () => {
  it("writes with strict durability, and nothing beside", async () => {
    const asked: [unknown, unknown, unknown][] = [];
    const real = IDBDatabase.prototype.transaction;
    const kept = await openStore("durable");
    IDBDatabase.prototype.transaction = function (this: IDBDatabase, ...a: Parameters<typeof real>) {
      asked.push([a[0], a[1] ?? "readonly", a[2]?.durability]);
      return real.apply(this, a);
    };
    try {
      await everyWrite(kept);
      await kept.clear();
    } finally {
      IDBDatabase.prototype.transaction = real;
    }
    const writing = asked.filter(([, mode]) => mode !== "readonly");
    assert.ok(writing.length >= 10, `${writing.length} transactions that write`);
    assert.deepEqual(writing.filter(([, , durability]) => durability !== "strict"), []);
  });

  it("starts with the first counter of a new device once it was cleared", async () => {
    const kept = await openStore("cleared");
    const first = await kept.record(draft(), []);
    await kept.clear();
    const next = await kept.record(draft(), []);
    assert.equal(next.counter, 1);
    assert.notEqual(next.envelope.device, first.envelope.device);
  });
});

/** Makes every call of Kept that writes. */
async function everyWrite(kept: Kept): Promise<void> {
  await kept.device();
  const own = await kept.record(draft(), [photo(3)]);
  const [shot] = await kept.shotsOf([own.counter]);
  const sealed = await kept.seal(own.counter, [copyOf(shot!, 2)]);
  await kept.settle(own.counter, { reason: "odd" });
  await kept.again(own.counter);
  await kept.settle(own.counter, { seq: 1 });
  await kept.hear(own.job, [listed(sealed, 1)]);
  await kept.settleShot(shot!.id, "sent");
  await kept.settleShot(shot!.id, "safe");
  await kept.write("name", 1);
}

// node simulation.js plays seeds against a real server: the shipped Sync over the
// shipped wire on several phones, in a network that loses, repeats, delays and cuts,
// with clocks that are wrong and apps that are killed. Nothing that was acknowledged
// may be lost, and all must come to the same. It is told where the server is, which
// seeds to play and how often to say how far it is, and exits 1 if one fails.
import { check } from "./checks.ts";
import { Figures } from "./figures.ts";
import { World } from "./world.ts";

const env = (name: string, otherwise?: string): string => {
  const value = process.env[name] ?? otherwise;
  if (value === undefined) throw new Error(`${name} is not set`);
  return value;
};

const url = env("SIMULATION_URL");
const first = Number(env("SIMULATION_SEED", "1")), count = Number(env("SIMULATION_SEEDS", "1"));
const progress = Number(env("SIMULATION_PROGRESS", "0")); // say so after each so many seeds
const everyWhich = Number(env("SIMULATION_FIGURES", "10")); // of so many seeds one compares the states
const atOnce = 4; // seeds, which share nothing

const figures = await Figures.start(env("SIMULATION_RUNTIME"), env("SIMULATION_WASM"));
const played = { seeds: 0, requests: 0, events: 0, photos: 0, states: 0 };
const failed: number[] = [];
let next = first;

async function play(seed: number): Promise<void> {
  const world = new World(seed, url);
  const compare = seed % everyWhich === 0 || count === 1;
  try {
    await world.play();
    if (world.faults.length === 0) await check(world, compare ? figures : undefined);
  } catch (e) {
    world.fault(e instanceof Error ? (e.stack ?? e.message) : String(e));
  }
  played.seeds++;
  played.requests += world.requests;
  if (compare) played.states += world.jobs.length;
  for (const p of world.phones) {
    played.events += p.diary.entries.size;
    played.photos += p.diary.shots.size;
  }
  if (world.faults.length > 0) fail(seed, world);
  if (progress > 0 && played.seeds % progress === 0) console.log(said());
}

function fail(seed: number, world: World): void {
  failed.push(seed);
  console.log(`seed ${seed} failed (${world.requests} requests, digest ${world.digest()}):\n  ${world.faults.slice(0, 10).join("\n  ")}`);
}

const said = () => `${played.seeds} seeds: ${played.events} events, ${played.photos} photos, ${played.requests} requests, ${played.states} states compared`;

async function worker(): Promise<void> {
  while (next < first + count && failed.length < 5) await play(next++);
}

await Promise.all(Array.from({ length: Math.min(atOnce, count) }, worker));
console.log(said());
if (failed.length > 0) console.log(`play one alone: make soak SEED=${failed[0]} SEEDS=1`);
process.exit(failed.length > 0 ? 1 : 0);

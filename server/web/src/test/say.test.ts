import assert from "node:assert/strict";
import { afterEach, describe, it } from "node:test";
import { formOf, sentences } from "../page/record/forms.ts";
import { say, speak } from "../page/say.ts";
import { kindWord, verb } from "../page/words.ts";

const sayings = [
  { code: "Under the floor", said: "Crawl space" }, { code: "under the floor", said: "in the crawl space" }, { code: "Blocking", said: "Cribbing" }, { code: "blocking", said: "cribbing" },
  { code: "bearers", said: "girders" }, { code: "Bearer", said: "Girder" }, { code: "bearer", said: "girder" }, { code: "datum", said: "benchmark" },
];

describe("say", () => {
  afterEach(() => speak(undefined));

  it("says whole words, one and several, at the beginning and in a sentence", () => {
    speak(sayings);
    assert.equal(say("Bearer by bearer, all bearers; forbearers and datums’"), "Girder by girder, all girders; forbearers and datums’");
    assert.equal(say("Under the floor: left under the floor"), "Crawl space: left in the crawl space");
  });

  it("leaves all as it is where the office told no words", () => {
    assert.equal(say("on blocking, under the bearer"), "on blocking, under the bearer");
  });

  it("says forms, and leaves what they record", () => {
    const plain = formOf("blocking");
    speak(sayings);
    const said = formOf("blocking");
    assert.match(said.title, /[Cc]ribbing/);
    assert.deepEqual(said.fields?.map((f) => f.name), plain.fields?.map((f) => f.name));
    assert.deepEqual(formOf("reading").fields?.flatMap((f) => f.choices?.map((c) => c.value) ?? []).includes("bearer"), true);
    assert.equal(kindWord("under-floor"), "Crawl space");
    assert.equal(verb("blocking-removed"), "Cribbing away");
    assert.ok(sentences.includes("Blocking is to hand"), "what is recorded of a safety check is the same in all regions");
  });
});

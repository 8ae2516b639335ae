// Every screen of the app, by the part of its address after the job.
export const screens = {
  floor: "", support: "/support/B1-1", move: "/move", book: "/book", more: "/more", reading: "/do/reading?support=B1-1", along: "/do/reading?bearer=B1&all=1",
  calling: "/do/reading?bearer=B1&all=1&call=1", setup: "/do/setup", close: "/do/setup-closed", jacking: "/do/jacking?support=B1-1", packing: "/do/packing?support=B1-1",
  packer: "/do/packing?support=B1-1&sort=final", work: "/do/support-work?support=B1-1", finding: "/do/finding?support=B1-1", found: "/do/found?support=B1-1",
  photo: "/do/photo?support=B1-1", note: "/do/note", safety: "/do/safety-check", condition: "/do/condition", dayend: "/do/day-end", stop: "/do/stop?support=B1-1",
  goahead: "/do/go-ahead", handover: "/do/hand-over", sign: "/do/signed", stays: "/do/signed?support=B1-1", gap: "/do/gap-reading", pegs: "/do/instrument-check", cut: "/do/floor-cut",
  closed: "/do/floor-closed", blocking: "/do/blocking?support=B1-1", unblocked: "/do/blocking-removed", inspection: "/do/inspection", below: "/do/under-floor",
  tie: "/do/tie", freed: "/do/tie-freed", back: "/do/tie-back", difference: "/do/difference", incident: "/do/incident", change: "/do/change",
  answered: "/do/change-answered", findingclosed: "/do/finding-closed", handback: "/do/handover",
};

/** Screens of no job. */
export const others = { jobs: "#/", me: "#/me", who: "#/who", sending: "#/sending", pair: "#/pair" };

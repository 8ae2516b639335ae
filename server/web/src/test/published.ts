// The test vectors of certificate transparency (RFC 6962 and RFC 9162), as
// github.com/transparency-dev/merkle has them in log_verifier_test.go, in base64: the
// root at every size of a tree of eight leaves, and proofs that one continues another.

export const published = {
  roots: [
    "47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU=",
    "bjQLnP+zepicpUTmu3gKLHiQHT+zNzh2hRGjBhevoB0=",
    "+sVCA+fMaWzw38tCySodnbr3CtnmIfS9jZhmLwDjwSU=",
    "rra8/idLcKFPsGel5VeCZNsPqbUa9eC6FZFY8yngbnc=",
    "037kGJdt2VdTwcc4Yrk5j6Kiz5tP8P3+izDNlSCWFLc=",
    "Tju7H3tHjc/nH7YxYxUZo7yhLJrvyhYSv85ME6hiZNQ=",
    "duZ9rbzfHhDht03cYIq9L5jfsW+851J3tSMqEn8gh+8=",
    "3bib5AOAnjJXUNPSY814kpwpQreUKjS3fhIslZSnTIw=",
    "XcnaeacGWamtVZy3Ad7ZoqudgjqtL0lgz+Nw7/RgQyg=",
  ],
  joints: [
    { from: 1, to: 8, path: [
      "lqKW0iTyhcZ77pPDD4owkVfw2qNdxbh+QQt4YwoJz8c=",
      "Xwg/ChozygdqlSeYMlgNs+DvRYS9/x9UyKNg9Q3jAx4=",
      "a0eq8p7jwq+a+Im8H7klTavTEXfxYjLdaqsDXKOb9uQ=",
    ] },
    { from: 6, to: 8, path: [
      "DrxdNDf74tsVi58Sah0RjjCBgQMdCpSfje3t68VY72o=",
      "yoVOoSjtBQtBs1/8G4e46yveRh6eO1WW7Oa51ZdaCuA=",
      "037kGJdt2VdTwcc4Yrk5j6Kiz5tP8P3+izDNlSCWFLc=",
    ] },
    { from: 2, to: 5, path: [
      "Xwg/ChozygdqlSeYMlgNs+DvRYS9/x9UyKNg9Q3jAx4=",
      "vBoGQ7EuTS18d5GPROD095qDi2z57FtcKD4fTYhZnms=",
    ] },
    { from: 6, to: 7, path: [
      "DrxdNDf74tsVi58Sah0RjjCBgQMdCpSfje3t68VY72o=",
      "sIaT7C5yFZcTBkHoIR5+7cy0wmQTlj7ubB4u0W/7Gl8=",
      "037kGJdt2VdTwcc4Yrk5j6Kiz5tP8P3+izDNlSCWFLc=",
    ] },
  ],
};

/** A checkpoint of that size, as a server signs it. */
export function note(size: number, root = published.roots[size]): string {
  return `published.example\n${size}\n${root}\n\n— published.example AAAAAQIDBAUGBwg=\n`;
}

/** The proof that one continues another, as a server gives it. */
export function joint(from: number, to: number): string {
  const { path } = published.joints.find((j) => j.from === from && j.to === to)!;
  return `old ${from}\n${path.map((h) => `${h}\n`).join("")}\n${note(to)}`;
}

// A module that depends on what has known advisories: .ci/advisories has to find them,
// or it would find nothing.
module known

go 1.26.0

require golang.org/x/net v0.0.0-20220906165146-f3363e06e74c

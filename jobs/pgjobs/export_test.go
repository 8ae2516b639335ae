package pgjobs

// SearchFor is the statement of a search, for tests of its plan.
var SearchFor = searchFor

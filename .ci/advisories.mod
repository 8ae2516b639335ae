// The advisories of the Go vulnerability database that the check reads: pinned, so
// that a check of the same tree says the same tomorrow. `make advisories NEWEST=1`
// moves the pin.
module advisories

go 1.26.0

require golang.org/x/vulndb v0.0.0-20261105234957-e22db6528018

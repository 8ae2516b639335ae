package jobs

// Region chooses the trade words of a firm's screens.
type Region string

// The regions with words of their own.
const (
	Australia    Region = "AU"
	NewZealand   Region = "NZ"
	BritainEire  Region = "UK"
	NorthAmerica Region = "US"
)

// Known reports whether it is a region with words of its own.
func (r Region) Known() bool {
	switch r {
	case Australia, NewZealand, BritainEire, NorthAmerica:
		return true
	}
	return false
}

// Words are the trade words of one region. Code uses one set of names; only
// what people read differs.
type Words struct {
	Support   string `json:"support"`
	Bearer    string `json:"bearer"`
	Packer    string `json:"packer"`
	Blocking  string `json:"blocking"`
	Staff     string `json:"staff"`
	Datum     string `json:"datum"`
	Under     string `json:"under"`
	Inspector string `json:"inspector"`
	Change    string `json:"change"`
	ComeBack  string `json:"come_back"`
}

// Words returns the words of a region; an unknown one gets those of Australia.
func (r Region) Words() Words {
	switch r {
	case NewZealand:
		return Words{"pile", "bearer", "packer", "blocking", "staff", "datum", "under the floor", "building inspector", "variation", "defects period"}
	case BritainEire:
		return Words{"pier", "bearer", "packer", "cribbing", "staff", "datum", "under the floor", "building control", "variation", "defects period"}
	case NorthAmerica:
		return Words{"post", "girder", "shim", "cribbing", "rod", "benchmark", "crawl space", "inspector", "change order", "warranty period"}
	}
	return Words{"stump", "bearer", "packer", "pigsty", "staff", "datum", "under the floor", "building surveyor", "variation", "defects period"}
}

package web

// TrustPage says how a phone comes to trust a server that no public authority
// signs for.
type TrustPage struct {
	Frame
	Plain   bool // seen over plain http
	Own     bool // the server has a root of its own
	Address string
	Phone   string // where below it the phone's app is
}

func (TrustPage) page() string { return "trust" }

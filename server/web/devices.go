package web

// DevicesPage lists what opens the firm's jobs.
type DevicesPage struct {
	Frame
	Devices           []DeviceLine
	Code, Until, Host string // of another one to be paired, "" where nobody asked
	Own               bool   // the server signs for itself
}

func (DevicesPage) page() string { return "devices" }

// DeviceLine is one device or program.
type DeviceLine struct {
	ID, Name, Since, Revoked string
	This                     bool // the one the page is seen on
}

// PairPage is where a device types the code that the office reads out.
type PairPage struct {
	Frame
	Device string // as it was typed
	Wrong  Wrong
}

func (PairPage) page() string { return "pair" }

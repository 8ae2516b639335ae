package main

import "testing"

func TestDataFolder(t *testing.T) {
	for _, tt := range []struct {
		name, flag string
		env        environment
		root       bool
		want       string // "" is an error
	}{
		{"Flag", "/srv/relevel", environment{"HOME": "/tmp/me"}, true, "/srv/relevel"},
		{"XDG", "", environment{"XDG_DATA_HOME": "/tmp/data", "HOME": "/tmp/me"}, false, "/tmp/data/relevel"},
		{"XDGIsRelative", "", environment{"XDG_DATA_HOME": "data", "HOME": "/tmp/me"}, false, "/tmp/me/.local/share/relevel"},
		{"Home", "", environment{"HOME": "/tmp/me"}, false, "/tmp/me/.local/share/relevel"},
		{"Root", "", environment{"HOME": "/tmp/me"}, true, machineData},
		{"RootWithXDG", "", environment{"XDG_DATA_HOME": "/tmp/data"}, true, "/tmp/data/relevel"},
		{"Nowhere", "", environment{}, false, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := dataFolder(tt.flag, tt.env, tt.root)
			if got != tt.want || (err != nil) != (tt.want == "") {
				t.Errorf("got %q, %v; want %q", got, err, tt.want)
			}
		})
	}
}

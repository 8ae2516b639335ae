package passwords

import "testing"

// What is kept of a password is read as it was written, and anything else as nothing.
// A hash that would take gigabytes to check is none of ours.
func FuzzKept(f *testing.F) {
	k := kept{cost: usual, key: make([]byte, keyBytes)}
	f.Add(k.String())
	f.Add("$argon2id$v=19$m=4294967295,t=4294967295,p=255$AAAAAAAAAAAAAAAAAAAAAA$" + plain.EncodeToString(make([]byte, keyBytes)))
	f.Add("$argon2id$v=19$m=0,t=0,p=0$$")
	f.Add("$$$$$")
	f.Fuzz(func(t *testing.T, text string) {
		k, ok := parse(text)
		if !ok {
			return
		}
		if again, ok := parse(k.String()); !ok || again.String() != k.String() {
			t.Errorf("%q is written back as %q", text, k)
		}
		if k.cost.memory > 1<<20 || k.cost.passes > 100 {
			t.Errorf("%q would be checked", text)
		}
	})
}

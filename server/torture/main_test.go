package torture_test

import (
	"encoding/json"
	"os"
	"testing"
)

// What another process of this test binary is told to be.
const (
	beServer   = "RELEVEL_TORTURE_SERVER"
	beMigrator = "RELEVEL_TORTURE_MIGRATOR"
	beKeeper   = "RELEVEL_TORTURE_KEEPER"
)

// A test that kills a program runs this test binary once more as that program.
func TestMain(m *testing.M) {
	switch {
	case os.Getenv(beServer) != "":
		var o orders
		if err := json.Unmarshal([]byte(os.Getenv(beServer)), &o); err != nil {
			panic(err)
		}
		serve(o)
	case os.Getenv(beMigrator) != "":
		migrate(os.Getenv(beMigrator))
	case os.Getenv(beKeeper) != "":
		keep(os.Getenv(beKeeper))
	default:
		os.Exit(m.Run())
	}
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

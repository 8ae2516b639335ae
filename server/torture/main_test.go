package torture_test

import (
	"encoding/json"
	"os"
	"os/exec"
	"testing"
)

// What another process of this test binary is told to be.
const (
	beServer   = "RELEVEL_TORTURE_SERVER"
	beMigrator = "RELEVEL_TORTURE_MIGRATOR"
	beKeeper   = "RELEVEL_TORTURE_KEEPER"
	beAlone    = "RELEVEL_TORTURE_ALONE" // the test that is named, and nothing else
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

// alone runs a test in a process of its own, and reports whether this is that process.
// There the size of files may be limited: here go test keeps a file of what a test reads.
func alone(t *testing.T) bool {
	t.Helper()
	if os.Getenv(beAlone) != "" {
		return true
	}
	cmd := exec.CommandContext(t.Context(), os.Args[0], "-test.run=^"+t.Name()+"$", "-test.v")
	cmd.Env = append(os.Environ(), beAlone+"=1")
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	t.Logf("%s", out)
	return false
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

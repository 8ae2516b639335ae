package doctor

import (
	"os"
	"testing"
	"time"
)

func TestKeys(t *testing.T) {
	for _, f := range []fault{
		{"NotYet", func(t *testing.T, i *Installation) { must(t, os.Remove(i.Keys)) }, "Keys", "file", Look, "nothing is signed", "put it back from its copy"},
		{"Open", func(t *testing.T, i *Installation) { must(t, os.Chmod(i.Keys, 0o640)) }, "Keys", "file", Wrong, "read by others (0640)", "relevel keys retire"},
		{"Garbage", func(t *testing.T, i *Installation) { must(t, os.WriteFile(i.Keys, []byte("what\n"), 0o600)) }, "Keys", "file", Wrong, "cannot be used", "put it back"},
		{"Old", func(_ *testing.T, i *Installation) { i.Now = func() time.Time { return time.Now().AddDate(6, 0, 0) } }, "Keys", "file", Look, "has signed since", "relevel keys new"},
		{"OK", func(*testing.T, *Installation) {}, "Keys", "file", OK, "keep a copy apart", ""},
	} {
		t.Run(f.name, func(t *testing.T) { f.tried(t, healthy(t)) })
	}
}

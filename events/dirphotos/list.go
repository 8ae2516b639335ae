package dirphotos

import (
	"context"
	"io/fs"
	"iter"
	"path"
	"strings"

	"relevel/events"
)

// List implements events.Lister. What is on its way in lies elsewhere and is not
// listed.
func (s *Store) List(ctx context.Context) iter.Seq2[events.Listed, error] {
	return func(yield func(events.Listed, error) bool) {
		err := fs.WalkDir(s.root.FS(), ".", func(name string, d fs.DirEntry, err error) error {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			if err != nil {
				return err
			}
			if d.IsDir() {
				if name == tempDir {
					return fs.SkipDir
				}
				return nil
			}
			info, err := d.Info()
			if err != nil { // it went meanwhile
				return nil
			}
			if !yield(events.Listed{Name: name, Key: keyOf(name), Bytes: info.Size(), At: info.ModTime()}, nil) {
				return fs.SkipAll
			}
			return nil
		})
		if err != nil && ctx.Err() == nil {
			err = unavailable("list", err)
		}
		if err != nil {
			yield(events.Listed{}, err)
		}
	}
}

// keyOf is the key that a file lies under, zero where it is none of ours.
func keyOf(name string) events.Key {
	parts := strings.Split(name, "/")
	if len(parts) != 3 {
		return events.Key{}
	}
	k, ok := events.ParseKey(path.Join(parts[0], parts[2]))
	if !ok || nameOf(k) != name {
		return events.Key{}
	}
	return k
}

package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"relevel/cmd/relevel/client"
	"relevel/cmd/relevel/demo"
	"relevel/events"
)

// diary remembers in a data folder which demo was loaded there. The demo is
// told from the day it was made, so that loading it again after it broke off
// sends the same bytes.
type diary struct {
	Made   time.Time `json:"made"`
	Loaded bool      `json:"loaded"`
	Job    events.ID `json:"job"` // the main one

	dir string
}

// openDiary reads the diary of a folder, or starts one in a folder that holds
// no data of somebody's own.
func openDiary(dir string) (*diary, error) {
	d := &diary{dir: dir}
	text, err := os.ReadFile(d.path())
	switch {
	case err == nil:
		if err := json.Unmarshal(text, d); err != nil {
			return nil, fmt.Errorf("read %s: %w", d.path(), err)
		}
		return d, nil
	case !errors.Is(err, os.ErrNotExist):
		return nil, fmt.Errorf("look for an earlier demo: %w", err)
	}
	if _, err := os.Stat(accessPath(dir)); err == nil {
		return nil, usagef("--data: %s holds a firm's own data: choose another folder for the demo", dir)
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fmt.Errorf("make the data folder: %w", err)
	}
	d.Made = time.Now().Truncate(time.Second)
	return d, writeFile(d.path(), d)
}

func (d *diary) path() string { return filepath.Join(d.dir, "demo.json") }

// told is a demo, or why there is none.
type told struct {
	demo demo.Demo
	err  error
}

// prepare makes the demo while the server starts, unless it is there already.
func (d *diary) prepare(ctx context.Context) <-chan told {
	story := make(chan told, 1)
	if d.Loaded {
		return story
	}
	go func() {
		made, err := demo.New(ctx, d.Made)
		story <- told{made, err}
	}()
	return story
}

// load sends the demo to the server, unless it is there already.
func (d *diary) load(ctx context.Context, c *client.Client, story <-chan told) error {
	if d.Loaded {
		return nil
	}
	t := <-story
	if t.err != nil {
		return fmt.Errorf("make the demo: %w", t.err)
	}
	if err := demo.Load(ctx, c, t.demo); err != nil {
		return err
	}
	d.Loaded, d.Job = true, t.demo.Main().ID
	return writeFile(d.path(), d)
}

package main

import (
	"bytes"
	"flag"
	"io"
	"log/slog"
	"strings"

	"relevel/server/watch"
)

// logFlags choose what is logged and how.
type logFlags struct {
	json  bool
	quiet bool
}

func (l *logFlags) flags(fs *flag.FlagSet) {
	fs.BoolVar(&l.json, "log-json", false, "log JSON, one object a line, instead of text")
	fs.BoolVar(&l.quiet, "quiet", false, "log warnings and errors only, and no requests")
}

func (l *logFlags) logger(w io.Writer) *slog.Logger {
	o := &slog.HandlerOptions{Level: slog.LevelInfo}
	if l.quiet {
		o.Level = slog.LevelWarn
	}
	if l.json {
		return slog.New(watch.Lines(slog.NewJSONHandler(w, o)))
	}
	return slog.New(watch.Lines(slog.NewTextHandler(w, o)))
}

// lineWriter logs each line that Postgres writes. What it says in the course
// of its work is only of interest when something went wrong.
type lineWriter struct {
	log  *slog.Logger
	rest []byte
}

func (l *lineWriter) Write(p []byte) (int, error) {
	l.rest = append(l.rest, p...)
	for {
		line, rest, whole := bytes.Cut(l.rest, []byte("\n"))
		if !whole {
			return len(p), nil
		}
		l.write(string(line))
		l.rest = append(l.rest[:0], rest...)
	}
}

func (l *lineWriter) write(line string) {
	if strings.Contains(line, "due to administrator command") {
		return // a session that was open when it was told to stop
	}
	if strings.Contains(line, "violates unique constraint") {
		l.log.Debug("postgres", "says", line) // so a record that came again is recognised
		return
	}
	for _, grave := range []string{"ERROR:", "FATAL:", "PANIC:"} {
		if strings.Contains(line, grave) {
			l.log.Warn("postgres", "says", line)
			return
		}
	}
	l.log.Debug("postgres", "says", line)
}

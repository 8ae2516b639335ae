package pgdb

import (
	"cmp"
	"io/fs"
	"regexp"
	"slices"
	"strings"
)

// Guard is a trigger that keeps the rows of a table as they are.
type Guard struct{ Table, Trigger string }

var (
	guardMade    = regexp.MustCompile(`(?m)^CREATE TRIGGER (\w+) BEFORE [A-Z ]+ ON (\w+)`)
	guardDropped = regexp.MustCompile(`(?m)^DROP TRIGGER (\w+) ON`)
)

// Guards are those that the newest schema has, in the order of their tables.
func Guards() (all []Guard) {
	names, err := fs.Glob(migrations, "migrations/*.up.sql")
	if err != nil {
		panic("the embedded migrations cannot be read: " + err.Error())
	}
	for _, name := range names {
		text, err := migrations.ReadFile(name)
		if err != nil {
			panic("the embedded migrations cannot be read: " + err.Error())
		}
		for _, made := range guardMade.FindAllStringSubmatch(string(text), -1) {
			all = append(all, Guard{Table: made[2], Trigger: made[1]})
		}
		for _, gone := range guardDropped.FindAllStringSubmatch(string(text), -1) {
			all = slices.DeleteFunc(all, func(g Guard) bool { return g.Trigger == gone[1] })
		}
	}
	slices.SortFunc(all, func(a, b Guard) int {
		return cmp.Or(strings.Compare(a.Table, b.Table), strings.Compare(a.Trigger, b.Trigger))
	})
	return all
}

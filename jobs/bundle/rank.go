package bundle

import (
	"cmp"
	"strconv"
	"strings"
)

// rank is where an entry belongs: its section, and its place in that.
type rank struct {
	section int
	place   int64
}

func (r rank) compare(o rank) int {
	return cmp.Or(cmp.Compare(r.section, o.section), cmp.Compare(r.place, o.place))
}

// The sections of a bundle, in their order.
const (
	atReadme = iota
	atAbout
	atLog
	atEvents
	atCheckpoint
	atKeys
	atLogged
	atFirm
	atPlan
	atState
	atFiles
	atList
	atSums
	nowhere // the zip itself
)

// single are the entries of which there is one.
var single = map[string]int{
	readmeName: atReadme, aboutName: atAbout, logName: atLog, checkpointName: atCheckpoint, keysName: atKeys, loggedName: atLogged, firmName: atFirm,
	planName: atPlan, stateName: atState, filesName: atList, sumsName: atSums,
}

// needed are those without which there is no bundle, in their order.
var needed = []string{readmeName, aboutName, logName, planName, stateName, filesName, sumsName}

// bounds says how large an entry of a section may be.
var bounds = map[int]int64{
	atReadme: maxSmall, atAbout: maxSmall, atLog: maxList, atEvents: maxEvent, atCheckpoint: maxSmall, atKeys: maxSmall, atLogged: maxSmall, atFirm: maxSmall,
	atPlan: maxDerived, atState: maxDerived, atFiles: maxFile, atList: maxList, atSums: maxList, nowhere: maxFile,
}

// seqOf is the number in the name of a record's file, 0 where it is none.
func seqOf(name string) int64 {
	digits, ok := strings.CutSuffix(strings.TrimPrefix(name, eventFolder), ".json")
	n, err := strconv.ParseInt(digits, 10, 64)
	if !ok || err != nil || n < 1 || eventName(n) != name {
		return 0
	}
	return n
}

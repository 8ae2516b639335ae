package server

import (
	"fmt"
	"net/url"
	"strings"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// quarantinePath is where the office looks at what did not fit.
const quarantinePath = "/quarantine"

// firmWants is what waits and is about no job: what phones did not bring, what was
// kept apart without a job of ours, jacks and lasers out of date.
func (sh *sheet) firmWants() []web.Want {
	list := append(sh.phoneWants(), sh.kitWants()...)
	if apart := sh.apart[events.ID{}]; apart > 0 {
		list = append(list, web.Want{Rank: rankApart, Href: quarantinePath, Words: howMany(int64(apart), "record") + " kept apart that name no job"})
	}
	return list
}

// phoneWants tells of each phone, by its newest access, what never arrived from it
// and what is still on it.
func (sh *sheet) phoneWants() (list []web.Want) {
	told, known := map[events.ID]bool{}, map[events.ID]jobs.Phone{}
	for _, p := range sh.phones {
		known[p.Device] = p
	}
	for _, t := range sh.tokens {
		p, ok := known[t.Device]
		if !ok || t.Device.IsZero() || told[t.Device] {
			continue
		}
		told[t.Device] = true
		var said []string
		if lost := web.LostWords(p.Seen.Missing()); lost != "" {
			said = append(said, lost)
		}
		if r := p.Report; r != nil && r.Unsent+r.Photos > 0 {
			said = append(said, web.PhoneSays(p, sh.now)...)
		}
		if len(said) > 0 {
			list = append(list, web.Want{Rank: rankApart, Href: "/devices", Words: t.Name + ": " + strings.Join(said, "; ")})
		}
	}
	return list
}

func (sh *sheet) kitWants() (list []web.Want) {
	add := func(sort, name string, of jobs.Upkeep) {
		if why := of.Due(sh.now); why != "" && !of.Gone {
			list = append(list, web.Want{Rank: rankCheck, Href: "/kit?" + url.Values{sort: {name}}.Encode(), Words: fmt.Sprintf("%s %s: %s", sort, name, why)})
		}
	}
	for _, j := range sh.jacks {
		add("jack", j.Name, j.Upkeep)
	}
	for _, l := range sh.lasers {
		add("laser", l.Name, l.Upkeep)
	}
	return list
}

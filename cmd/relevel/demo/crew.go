package demo

import (
	"time"

	"relevel/events"
	"relevel/jobs"
)

// Zone is where the invented houses stand.
const Zone = "Australia/Melbourne"

// Crew is a crew with its people and the phone it records on.
type Crew struct {
	Crew  jobs.Crew
	Lead  jobs.Person
	Hand  jobs.Person
	Phone *Phone
}

// crewNames are the crews of the demo. Everybody in it is invented.
var crewNames = []struct{ crew, lead, hand string }{
	{"Crew North", "Wren Demo", "Ash Demo"},
	{"Crew South", "Rowan Demo", "Linden Demo"},
	{"Crew Repairs", "Hazel Demo", "Alder Demo"},
	{"Crew West", "Sorrel Demo", "Briar Demo"},
}

// newCrews makes the crews, with ids that depend on the time and nothing else.
func newCrews(at time.Time) ([]Crew, error) {
	var crews []Crew
	for _, names := range crewNames {
		random := source("relevel demo " + names.crew)
		var ids [3]events.ID
		for i := range ids {
			id, err := events.NewID(at, random)
			if err != nil {
				return nil, err
			}
			ids[i] = id
		}
		phone, err := NewPhone(at, random)
		if err != nil {
			return nil, err
		}
		crews = append(crews, Crew{
			Crew:  jobs.Crew{ID: ids[0], Name: names.crew},
			Lead:  jobs.Person{ID: ids[1], Name: names.lead, Role: jobs.SiteLead, CreatedAt: at},
			Hand:  jobs.Person{ID: ids[2], Name: names.hand, Role: jobs.CrewHand, CreatedAt: at},
			Phone: phone,
		})
	}
	return crews, nil
}

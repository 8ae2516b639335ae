package events

// Refers lists the earlier events that a body names by id: what it rests on.
func Refers(b Body) []ID {
	var all []ID
	switch b := b.(type) {
	case *Reading:
		all = []ID{b.Setup}
	case *SetupClosed:
		all = []ID{b.Setup}
	case *Signed:
		all = []ID{b.Reading}
	case *Finding:
		all = []ID{b.Of}
	case *FindingClosed:
		all = []ID{b.Finding}
	case *GoAhead:
		all = []ID{b.Stop}
	case *Change:
		all = []ID{b.Follows}
	case *ChangeAnswered:
		all = []ID{b.Change}
	case *Note:
		all = []ID{b.Answers}
	case *Void:
		all = []ID{b.Event}
	case *Handover:
		for _, w := range b.OwnersPlaces {
			all = append(all, w.Reading)
		}
	}
	some := all[:0]
	for _, id := range all {
		if !id.IsZero() {
			some = append(some, id)
		}
	}
	return some
}

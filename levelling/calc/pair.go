package calc

// numberPairs returns a list of pairs of numbers that must be there.
func (o *object) numberPairs(name, cure string) [][2]float64 {
	v, ok := o.need(name, cure)
	if !ok {
		return nil
	}
	return pairs[float64](o, name, v, cure)
}

// textPairs returns a list of pairs of texts that must be there and may be empty.
func (o *object) textPairs(name, cure string) [][2]string {
	v, ok := o.need(name, cure)
	if !ok {
		return nil
	}
	return pairs[string](o, name, v, cure)
}

// textPairsIf returns a list of pairs of texts that may be left out or be empty.
func (o *object) textPairsIf(name, cure string) [][2]string {
	v, ok := o.take(name)
	if !ok {
		return nil
	}
	return pairs[string](o, name, v, cure)
}

// pairs takes a list whose items are lists of two of one kind.
func pairs[T string | float64](o *object, name string, v any, cure string) [][2]T {
	var list [][2]T
	for i, item := range o.asList(name, v, cure) {
		var pair [2]T
		both, _ := item.([]any)
		fits := len(both) == len(pair)
		for k := 0; k < len(pair) && fits; k++ {
			pair[k], fits = both[k].(T)
		}
		if !fits {
			o.input.fail(index(join(o.path, name), i), "a list of two: "+cure)
		}
		list = append(list, pair)
	}
	return list
}

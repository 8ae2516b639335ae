package main

import (
	"slices"
	"strings"
)

// licences are known by sentences that stand in them and in no other here, each as the
// list of SPDX has it. A text that is none of these keeps its words and gets no name.
var licences = []struct{ id, says, saysNot string }{
	{"Apache-2.0", "Apache License Version 2.0, January 2004", ""},
	{"BSD-2-Clause", "Redistributions in binary form must reproduce the above copyright notice", "Neither the name of"},
	{"BSD-3-Clause", "Neither the name of", ""},
	{"ISC", "Permission to use, copy, modify, and/or distribute this software for any purpose with or without fee is hereby granted", ""},
	{"MIT", "Permission is hereby granted, free of charge, to any person obtaining a copy of this software", ""},
	{"MPL-2.0", "Mozilla Public License Version 2.0", ""},
	{"CC0-1.0", "CC0 1.0 Universal", ""},
	{"Unlicense", "This is free and unencumbered software released into the public domain", ""},
}

// nameLicences are the SPDX names of the licences in a text.
func nameLicences(text string) (ids []string) {
	words := strings.ToLower(strings.Join(strings.Fields(text), " "))
	for _, l := range licences {
		if strings.Contains(words, strings.ToLower(l.says)) && (l.saysNot == "" || !strings.Contains(words, strings.ToLower(l.saysNot))) {
			ids = append(ids, l.id)
		}
	}
	slices.Sort(ids)
	return ids
}

package events

import (
	"relevel/levelling"
)

// Limits of files. Above 16 MiB an upload would be split into parts and could
// be half done; a sound note is a minute of speech.
const (
	MaxPhotoBytes = 16 << 20
	MaxSoundBytes = 1 << 20
)

// Check reports, as an InputError, what an event cannot say about a file.
func (f File) Check() error {
	limit := int64(MaxPhotoBytes)
	if f.Type == Sound {
		limit = MaxSoundBytes
	}
	switch {
	case f.Type != Photo && f.Type != Sound:
		return levelling.Bad("type", "photo or sound")
	case f.SHA256.IsZero():
		return levelling.Bad("sha256", "missing: the SHA-256 of the file, 64 hexadecimal digits")
	case f.Bytes < 1 || f.Bytes > limit:
		return levelling.Bad("bytes", "the size of the file: a photo at most 16 MiB, a sound at most 1 MiB")
	case f.Media == "" || len(f.Media) > 60:
		return levelling.Bad("media_type", "for example image/jpeg")
	case len(f.Subject) > 200:
		return levelling.Bad("subject", "at most 200 characters")
	case f.Stage != "" && f.Stage != Before && f.Stage != During && f.Stage != After:
		return levelling.Bad("stage", "before, during or after")
	}
	return nil
}

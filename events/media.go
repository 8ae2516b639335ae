package events

import (
	"bytes"
	"encoding/binary"
	"strings"
)

// The media types that are taken. What an upload says of itself is only
// compared with what its bytes say.
const (
	MediaJPEG = "image/jpeg"
	MediaPNG  = "image/png"
	MediaWebP = "image/webp"
	MediaWebM = "audio/webm"
	MediaMP4  = "audio/mp4"
)

// mediaAliases are names that browsers and phones use for the same things.
var mediaAliases = map[string]string{
	"image/jpg":   MediaJPEG,
	"audio/m4a":   MediaMP4,
	"audio/x-m4a": MediaMP4,
}

// typeOfMedia tells which type of file a media type belongs to and returns its
// plain name, without parameters such as "codecs=opus".
func typeOfMedia(media string) (FileType, string) {
	name, _, _ := strings.Cut(media, ";")
	name = strings.ToLower(strings.TrimSpace(name))
	if plain, ok := mediaAliases[name]; ok {
		name = plain
	}
	switch name {
	case MediaJPEG, MediaPNG, MediaWebP:
		return Photo, name
	case MediaWebM, MediaMP4:
		return Sound, name
	}
	return "", ""
}

// Sniff tells the media type from the bytes, or "" if it is none of those that
// are taken. A photo is known by its first 16 bytes; a sound needs all of it,
// because the same containers hold films.
func Sniff(b []byte) string {
	switch {
	case bytes.HasPrefix(b, []byte("\xff\xd8\xff")):
		return MediaJPEG
	case bytes.HasPrefix(b, []byte("\x89PNG\r\n\x1a\n")):
		return MediaPNG
	case len(b) >= 16 && string(b[:4]) == "RIFF" && string(b[8:15]) == "WEBPVP8":
		return MediaWebP
	case isOpusWebM(b):
		return MediaWebM
	case isSoundMP4(b):
		return MediaMP4
	}
	return ""
}

// webmHead is how far into a recording its track list is looked for; recorders
// write it before the first sound.
const webmHead = 4 << 10

// isOpusWebM recognises a WebM file (RFC 9559: EBML header with the document
// type "webm") with an Opus track and no picture track.
func isOpusWebM(b []byte) bool {
	if !bytes.HasPrefix(b, []byte("\x1a\x45\xdf\xa3")) {
		return false
	}
	head := b[:min(len(b), webmHead)]
	return bytes.Contains(head[:min(len(head), 64)], []byte("webm")) &&
		bytes.Contains(head, []byte("A_OPUS")) &&
		!bytes.Contains(head, []byte("V_VP")) &&
		!bytes.Contains(head, []byte("V_AV1"))
}

// isSoundMP4 recognises an ISO base media file (ISO/IEC 14496-12) whose movie
// box holds an AAC sound track and no picture track. Phones write that box
// first or last, so the boxes are walked.
func isSoundMP4(b []byte) bool {
	if len(b) < 12 || string(b[4:8]) != "ftyp" {
		return false
	}
	for len(b) >= 8 {
		size, kind := uint64(binary.BigEndian.Uint32(b)), string(b[4:8])
		if size == 0 { // to the end of the file
			size = uint64(len(b))
		}
		if size < 8 || size > uint64(len(b)) {
			return false
		}
		if kind == "moov" {
			return hasSoundOnly(b[:size])
		}
		b = b[size:]
	}
	return false
}

func hasSoundOnly(moov []byte) bool {
	return bytes.Contains(moov, []byte("soun")) &&
		bytes.Contains(moov, []byte("mp4a")) &&
		!bytes.Contains(moov, []byte("vide"))
}

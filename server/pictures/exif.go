package pictures

import (
	"bytes"

	"github.com/bep/imagemeta"

	"relevel/events"
)

var metaFormats = map[string]imagemeta.ImageFormat{
	events.MediaJPEG: imagemeta.JPEG,
	events.MediaPNG:  imagemeta.PNG,
	events.MediaWebP: imagemeta.WebP,
}

// orientation reads how the camera was held: 1 to 8 as EXIF counts. It is 1,
// upright, where nothing readable says otherwise.
func orientation(data []byte, media string) int {
	found := 1
	_, err := imagemeta.Decode(imagemeta.Options{
		R:           bytes.NewReader(data),
		ImageFormat: metaFormats[media],
		Sources:     imagemeta.EXIF,
		ShouldHandleTag: func(tag imagemeta.TagInfo) bool {
			// IFD1 describes the thumbnail that cameras put beside the photo.
			return tag.Namespace == "IFD0" && tag.Tag == "Orientation"
		},
		HandleTag: func(tag imagemeta.TagInfo) error {
			if n, ok := tag.Value.(uint16); ok && n >= 1 && n <= 8 {
				found = int(n)
			}
			return imagemeta.ErrStopWalking
		},
		LimitNumTags: 1000,
	})
	if err != nil {
		return 1 // a note that is damaged is no reason not to show the photo
	}
	return found
}

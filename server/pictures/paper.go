package pictures

import (
	"bytes"
	"context"
	"fmt"

	"relevel/events"
)

// onPaper is the long edge of a photo that is printed half as wide as a sheet, px:
// about 300 an inch.
const onPaper = 1000

// Paper gives a photo as it is printed: upright, made from its pixels alone, and no
// larger than paper shows. It is made from a size that is kept, each time anew. What
// is not there or no picture is as with Open.
func (a *Album) Paper(ctx context.Context, firm events.ID, file events.Digest) ([]byte, error) {
	large, err := readAll(a.Open(ctx, firm, file, events.Large))
	if err != nil {
		return nil, err
	}
	small, err := a.maker.Derive(ctx, bytes.NewReader(large), onPaper)
	if err != nil {
		return nil, fmt.Errorf("make a print of %s: %w", file, err)
	}
	return small, nil
}

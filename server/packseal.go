package server

import (
	"context"
	"errors"
	"strings"

	"relevel/events/proof"
	"relevel/server/pack"
	"relevel/server/signing"
)

// sealOf is the checkpoint of a job's log that covers it up to a number: the one of
// that size, or the last where none was signed just there. A log that was not signed
// so far is signed now; one that does not agree with what was signed has none.
func (s *Server) sealOf(ctx context.Context, key jobKey, upTo int64) (pack.Checkpoint, error) {
	if s.signs == nil || upTo == 0 {
		return pack.Checkpoint{}, nil
	}
	k, err := s.checkpointAt(ctx, key, upTo)
	if errors.Is(err, errNotSigned) {
		k, err = s.signs.signer.Sign(ctx, key.firm, key.job)
	}
	switch {
	case errors.Is(err, signing.ErrDisagrees):
		return pack.Checkpoint{Disagrees: true}, nil
	case err != nil:
		return pack.Checkpoint{}, err
	case k.Size < upTo:
		return pack.Checkpoint{}, nil
	}
	return s.sealed(k), nil
}

func (s *Server) sealed(k proof.Kept) pack.Checkpoint {
	seal := pack.Checkpoint{Text: string(k.Note), Size: k.Size}
	if s.config.URL != "" {
		seal.Keys = strings.TrimSuffix(s.config.URL, "/") + "/keys"
	}
	return seal
}

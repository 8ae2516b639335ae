package client

import (
	"context"

	"relevel/events"
)

// Share makes an owner's link to a job, for somebody of that name. The link is shown by
// nobody again.
func (c *Client) Share(ctx context.Context, job events.ID, name string) (link string, err error) {
	var made struct {
		Link string `json:"link"`
	}
	err = c.post(ctx, "/jobs/"+job.String()+"/shares", map[string]string{"name": name}, &made)
	return made.Link, err
}

// Package watch holds what Prometheus and a dashboard need to watch over a server:
// rules for alerts, and a dashboard in the form that Grafana reads. ../WATCHING.md is
// for whoever is alerted.
package watch

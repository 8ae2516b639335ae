package main

import (
	"net/netip"
	"net/url"
	"os"
	"strings"

	"relevel/events/s3photos"
	"relevel/levelling"
	"relevel/server/hooks"
)

// settings say where things are kept. What is empty is kept in the data folder.
type settings struct {
	data     string
	tls      bool   // with an authority of our own, in the data folder
	database string // as the role relevel_app
	worker   string // as the role relevel_worker
	s3       *s3photos.Config
	hooks    hooks.Guard // which addresses may be told
}

// databaseVariables are what the commands read that open the database.
var databaseVariables = []variable{
	{envDatabase, "the database, as the role relevel_app, for example postgres://relevel_app:…@db/relevel. Without it a private Postgres is started in the data folder."},
	{envWorker, "the same database as the role relevel_worker, which finds over all firms what is due. Without it photos in S3 are not read back again, and nobody is told of what happens."},
	{"…_FILE", "any of these can be read from a file instead: " + envDatabase + "_FILE=/run/secrets/database"},
}

// serverVariables are what a server reads.
var serverVariables = append([]variable{
	{envS3Endpoint, "an S3 server for photos, for example https://s3.example:9000. Without it photos lie in the data folder."},
	{envS3Bucket, "its bucket; made when it is missing"},
	{envS3Region, "its region (us-east-1 unless given)"},
	{envS3Key + ", " + envS3Secret, "how to sign in there"},
	{envHookNets, "networks of your own that may be told of what happens beside public addresses, such as 10.1.0.0/16,127.0.0.0/8"},
	{envHookPlain, "set to yes to tell addresses over plain http, too"},
}, databaseVariables...)

func readSettings(dataFlag string, env environment) (settings, error) {
	var s settings
	var err error
	if s.data, err = dataFolder(dataFlag, env, os.Geteuid() == 0); err != nil {
		return s, err
	}
	if s.database, err = env.secret(envDatabase); err != nil {
		return s, err
	}
	if s.worker, err = env.secret(envWorker); err != nil {
		return s, err
	}
	if s.hooks, err = readHooks(env); err != nil {
		return s, err
	}
	s.s3, err = readS3(env)
	return s, err
}

// readS3 returns nil when no S3 server is named.
func readS3(env environment) (*s3photos.Config, error) {
	var values [5]string
	for i, name := range []string{envS3Endpoint, envS3Bucket, envS3Region, envS3Key, envS3Secret} {
		v, err := env.secret(name)
		if err != nil {
			return nil, err
		}
		values[i] = v
	}
	if values[0] == "" {
		return nil, nil
	}
	u, err := url.Parse(values[0])
	if err != nil || u.Host == "" || (u.Scheme != "http" && u.Scheme != "https") {
		return nil, levelling.Bad(envS3Endpoint, "an address with its scheme, for example https://s3.example:9000")
	}
	for i, name := range map[int]string{1: envS3Bucket, 3: envS3Key, 4: envS3Secret} {
		if values[i] == "" {
			return nil, levelling.Bad(name, "missing, while "+envS3Endpoint+" is set")
		}
	}
	return &s3photos.Config{
		Endpoint: u.Host, Insecure: u.Scheme == "http",
		Bucket: values[1], Region: values[2], Key: values[3], Secret: values[4],
	}, nil
}

// embedded tells whether the database is our own, in the data folder.
func (s settings) embedded() bool { return s.database == "" }

// readHooks says which addresses may be told beside those that the public reaches.
func readHooks(env environment) (g hooks.Guard, err error) {
	for _, text := range strings.FieldsFunc(env[envHookNets], func(c rune) bool { return c == ',' || c == ' ' }) {
		network, err := netip.ParsePrefix(text)
		if err != nil {
			return g, levelling.Bad(envHookNets, "networks with commas between them, such as 10.1.0.0/16,127.0.0.0/8")
		}
		g.Networks = append(g.Networks, network.Masked())
	}
	switch env[envHookPlain] {
	case "", "no":
	case "yes":
		g.Plain = true
	default:
		return g, levelling.Bad(envHookPlain, "yes or no")
	}
	return g, nil
}

// Package backups keeps copies of everything a server holds, and brings it back.
//
// # What a folder of backups holds
//
//	20260302T101500Z/           one backup; the time is when its state was taken
//	    manifest.json           what is in it: written last, so without it there is none
//	    database.dump           pg_dump's custom form, or
//	    base/                   what pg_basebackup writes
//	    heads                   firm, job, number of records and root of each job
//	    photos                  firm, SHA-256 and bytes of each photo and sound
//	    secrets/                keys, where they were asked for
//	photos/                     shared by all backups, by SHA-256, as package dirphotos
//	wal/                        what changed since the bases, a folder for each run of it
//
// A dump works with any Postgres that the role relevel_backup can read. It holds the
// state of one moment, that at which it began. A base is a copy of the whole private
// Postgres, and with what is received of its changes from then on (WAL) every moment
// after it can be had back, up to the last commit that was received.
//
// # Order
//
// Photos are never changed and are named by their digest. They are copied after the
// database's state was taken, so whatever that state says is kept either is in the
// folder or is reported as missing, and none is copied twice. Each is hashed on the
// way. Smaller sizes and packs are left out: they are made again.
//
// A backup comes into being in a folder whose name ends in .part. Everything in it is
// synced, the manifest comes last and the folder is renamed. What a crash left is
// cleared at the next run. One process at a time writes into a folder of backups.
//
// # What can be relied on
//
// Every file's SHA-256 stands in the manifest and the manifest's own in its last line,
// so a changed byte is found before anything is restored from it. After a restore
// package pgaudit reads every record and compares the trees with each checkpoint that
// was signed and with the heads that the backup knew, and every photo is hashed.
//
// A complete segment of WAL is hashed when it was received; a change in it ends what
// can be restored right before it, and says so. Of the segment that is being received
// only how far it had come is known: a restore that does not get there says so.
//
// # What is not in it
//
// The keys that sign lie in a file, and so do the certificate authority and the first
// token. They are copied only when asked for, and nothing here is encrypted: whoever
// holds the folder reads all of it. A server that lost its keys makes a new one, and
// what the old ones signed can still be checked, by the public halves in the database.
package backups

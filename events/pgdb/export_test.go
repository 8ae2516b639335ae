package pgdb

// RolledBack is rolledBack, for tests.
func RolledBack(err error) bool { return rolledBack(err) }

package pgaudit

// SelectRecords reads one job's records, for tests of its plan.
const SelectRecords = selectRecords

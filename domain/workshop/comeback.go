package workshop

// ComebackTx is what the use cases of comebacks write and read in a transaction.
type ComebackTx interface{}

// ComebackQueries are the reads of earlier work on an instrument.
type ComebackQueries interface{}

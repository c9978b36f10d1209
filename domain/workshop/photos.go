package workshop

// PhotoTx is what the use cases of photos write and read in a transaction.
type PhotoTx interface{}

// PhotoQueries are the reads of photos.
type PhotoQueries interface{}

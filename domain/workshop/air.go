package workshop

// AirTx is what the use cases of the shop's air write and read in a transaction.
type AirTx interface{}

// AirQueries are the reads of the shop's air.
type AirQueries interface{}

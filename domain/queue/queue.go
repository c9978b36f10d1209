// Package queue answers when a job will be done and what the bench takes next.
//
// It plays the whole shop forward many times: each person in their own hours,
// each place of the cabinet, waits that run through nights, jobs still to come.
// From the plays it reads the day that a job is likely done, the day that can be
// promised, and what the job waits for longest. The method, its evidence and its
// limits stand in docs/queue.md.
//
// All of it is plain functions on plain values. For one seed the answer is the
// same on any number of processors.
package queue

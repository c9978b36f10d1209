package queue

import "math/bits"

// Ready queues sort tasks by a key that does not change while they wait: short
// tasks that start a wait before all others, then by slack date, then as they came.
// Keys from -farthest to farthest are slack dates of starters; those of all others
// have behind added.
const (
	behind   = 1 << 30
	farthest = 1 << 28 // minutes; five hundred years
)

// key is the place of a task in its queue; lower is sooner. It is the same rule as
// that of Order.
func key(starter bool, slack int32) int32 {
	if starter {
		return slack
	}
	return slack + behind
}

const (
	buckets      = 1 << 12
	starterRange = buckets / 8 // a bucket a day; the rest have one for each three hours
)

// readyQueue is a queue of tasks by key: buckets with a two-level set of bits that says
// which are in use, and in each a list in order. Taking the first costs the same
// however many wait.
type readyQueue struct {
	least      int64 // of the first: its key before, the class behind; never when empty
	class      int64 // scarcest less the class of the tasks
	top        uint64
	used       [buckets / 64]uint64
	head, tail [buckets]int32
}

// scarcest is the highest class there can be; a queue's least has so many bits for it.
const scarcest = 1<<6 - 1

// lacking is added to the least of a class that a person cannot do: no key is as large.
const lacking = 1 << 60

func (q *readyQueue) ranks(key int32) int64 { return int64(key)<<6 | q.class }

// bucket maps keys to buckets without changing their order.
func bucket(key, base int32) int {
	if key < behind/2 {
		return int(min(max(0, (key-base)/dayMinutes), starterRange-1))
	}
	return starterRange + int(min(max(0, (key-behind-base)/180), buckets-starterRange-1))
}

func (q *readyQueue) empty() bool { return q.top == 0 }

func (q *readyQueue) clear() {
	q.least = never
	for ; q.top != 0; q.top &= q.top - 1 {
		q.used[bits.TrailingZeros64(q.top)] = 0
	}
}

// farEnough bounds the search in one bucket: when more than 256 tasks of the
// same three hours wait, a late comer may stand among them out of its order.
const farEnough = 256

// push puts task i behind all with the same key or a lower one.
func (s *play) push(q *readyQueue, i int32) {
	k := s.tasks[i].key
	q.least = min(q.least, q.ranks(k))
	b := bucket(k, s.m.base)
	s.tasks[i].next = -1
	if q.used[b>>6]&(1<<(b&63)) == 0 {
		q.used[b>>6] |= 1 << (b & 63)
		q.top |= 1 << (b >> 6)
		q.head[b], q.tail[b] = i, i
		return
	}
	if last := q.tail[b]; k >= s.tasks[last].key {
		s.tasks[last].next, q.tail[b] = i, i
		return
	}
	at := &q.head[b]
	for steps := 0; s.tasks[*at].key <= k && steps < farEnough; steps++ {
		at = &s.tasks[*at].next
	}
	s.tasks[i].next, *at = *at, i
}

// first returns the task with the lowest key; the queue is not empty.
func (q *readyQueue) first() int32 {
	w := bits.TrailingZeros64(q.top)
	return q.head[w<<6|bits.TrailingZeros64(q.used[w])]
}

// pop takes out what first returns.
func (s *play) pop(q *readyQueue) int32 {
	w := bits.TrailingZeros64(q.top)
	bit := bits.TrailingZeros64(q.used[w])
	b := w<<6 | bit
	i := q.head[b]
	next := s.tasks[i].next
	if q.head[b] = next; next < 0 {
		if q.used[w] &^= 1 << bit; q.used[w] == 0 {
			q.top &^= 1 << w
		}
		if q.top == 0 {
			q.least = never
			return i
		}
		next = q.first()
	}
	q.least = q.ranks(s.tasks[next].key)
	return i
}

// events is a heap of moments with what happens then, the soonest first; each
// parent has four children.
type events []uint64

const codeBits = 22

func (h *events) add(at int64, code int32) {
	e := uint64(at)<<codeBits | uint64(code)
	*h = append(*h, e)
	a := *h
	i := len(a) - 1
	for i > 0 {
		parent := (i - 1) / 4
		if a[parent] <= e {
			break
		}
		a[i], i = a[parent], parent
	}
	a[i] = e
}

// take removes the soonest event; there is one.
func (h *events) take() (code int32) {
	a := *h
	top, last := a[0], a[len(a)-1]
	a = a[:len(a)-1]
	*h = a
	if len(a) == 0 {
		return int32(top & (1<<codeBits - 1))
	}
	i := 0
	for {
		child := 4*i + 1
		if child >= len(a) {
			break
		}
		least := child
		for k := child + 1; k < min(child+4, len(a)); k++ {
			if a[k] < a[least] {
				least = k
			}
		}
		if a[least] >= last {
			break
		}
		a[i], i = a[least], least
	}
	a[i] = last
	return int32(top & (1<<codeBits - 1))
}

func (h events) at() int64 { return int64(h[0] >> codeBits) }

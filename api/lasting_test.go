package api_test

import (
	"fmt"
	"net/http"
	"testing"

	"winterbench/domain"
	"winterbench/store"
	"winterbench/store/storetest"
)

func TestHowRepairsHold(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		owner := h.as(domain.Owner)
		h.ask(http.MethodGet, "/season/holds", nil).is(403)
		owner.get("/season/holds").want("answer", "Nothing that was mended has been handed over yet.").want("all.jobs", "0")
		old := owner.arrive()
		owner.survey(old)
		q := owner.said(old, task("CG", "60"))
		owner.post(q+"/answer", map[string]any{"outcome": "whole", "who": "Ada", "channel": "phone"}).is(200)
		owner.post(fmt.Sprintf("%s/tasks/%d/finish", old, owner.get(old).id("tasks.0.id")), nil).is(200)
		owner.get("/season/holds").want("all.jobs", "0")
	})
}

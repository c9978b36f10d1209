package api

import (
	"context"
	"net/http"
	"time"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// tokenDoc is a key with which a program signs in for a person.
type tokenDoc struct {
	ID      int64             `json:"id"`
	Name    string            `json:"name"`
	Reads   bool              `json:"reads_only" doc:"It changes nothing"`
	Roles   []word[roleWords] `json:"roles" doc:"The hats it may use of those you wear; empty: all of them"`
	Created time.Time         `json:"created"`
	Expires *time.Time        `json:"expires" doc:"Null for tokens from before they had an end"`
	Used    *time.Time        `json:"used" doc:"To about a minute"`
	Revoked *time.Time        `json:"revoked"`
}

// newToken is a token that was just made.
type newToken struct {
	Name  string `json:"name"`
	Token string `json:"token" doc:"It cannot be shown again"`
}

type tokenIn struct{ Body tokenNote }

type tokenNote struct {
	Name  string            `json:"name" doc:"What it is for"`
	Reads bool              `json:"reads_only,omitempty" doc:"It shall change nothing"`
	Roles []word[roleWords] `json:"roles,omitempty" maxItems:"3" doc:"The hats it may use of those you wear; all of them when left out"`
	Days  int               `json:"days,omitempty" minimum:"0" maximum:"366" doc:"Until it ends; 366 when left out, and no later than the token it is made with"`
}

type tokenOut struct {
	CacheControl string `header:"Cache-Control"`
	Body         newToken
}

// OnToken names a token in the path.
type OnToken struct {
	Token int64 `path:"token" minimum:"1" doc:"Identity of the token"`
}

func (a *API) tokenRoutes() {
	o := operation{noun: "tokens", act: workshop.ActToken, method: http.MethodGet, path: "/tokens", id: "list_tokens", summary: "Your tokens; only a hash of each is kept"}
	add(a, o, func(ctx context.Context, _ *struct{}) (*many[tokenDoc], error) {
		all, err := a.read.TokensOf(ctx, by(ctx).Staff)
		if err != nil {
			return nil, err
		}
		return whole("", each(all, func(t workshop.Token) tokenDoc {
			return tokenOf(&t)
		})), nil
	})
	o = operation{noun: "tokens", act: workshop.ActToken, method: http.MethodPost, path: "/tokens", id: "add_token", summary: "Make a token that acts for you", status: http.StatusCreated, noKey: true}
	add(a, o, func(ctx context.Context, in *tokenIn) (*tokenOut, error) {
		return a.addToken(ctx, in.Body)
	})
	o = operation{noun: "tokens", act: workshop.ActToken, method: http.MethodDelete, path: "/tokens/{token}", id: "revoke_token", summary: "End a token", status: http.StatusNoContent}
	add(a, o, func(ctx context.Context, in *OnToken) (*struct{}, error) {
		return nil, a.revoke(ctx, in.Token)
	})
}

func tokenOf(t *workshop.Token) tokenDoc {
	return tokenDoc{
		ID: t.ID, Name: t.Name, Reads: t.ReadsOnly, Created: t.Created.UTC(), Expires: moment(t.Expires), Used: moment(t.Used), Revoked: moment(t.Revoked),
		Roles: each(t.Roles, func(r domain.Role) word[roleWords] { return word[roleWords](r) }),
	}
}

func (a *API) addToken(ctx context.Context, n tokenNote) (*tokenOut, error) {
	ask := workshop.TokenAsk{Name: n.Name, ReadsOnly: n.Reads, Roles: rolesIn(n.Roles), Days: n.Days, Until: askedOf(ctx).until}
	token, err := a.work.AddToken(ctx, by(ctx), ask)
	if err != nil {
		return nil, err
	}
	return &tokenOut{CacheControl: "no-store", Body: newToken{Name: n.Name, Token: token}}, nil
}

func (a *API) revoke(ctx context.Context, id int64) error {
	if err := a.work.RevokeToken(ctx, by(ctx), id); err != nil {
		if domain.KindOf(err) == domain.Denied { // whether there is one is nobody else's business
			return domain.NotFoundf("you have no token %d", id)
		}
		return err
	}
	return nil
}

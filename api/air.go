package api

func (a *API) airRoutes() {}

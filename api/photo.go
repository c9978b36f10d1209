package api

func (a *API) photoRoutes() {}

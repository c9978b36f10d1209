package api

func (a *API) comebackRoutes() {}

"""The print log in the window: how a print went, and the page of all prints and spools."""

"""Pictures of layer and part for the window, the console and paper: colours, what is drawn, SVG; no Qt."""

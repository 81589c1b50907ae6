"""Stage 9: everything a person sees; the faces (console, window, paper) do not import each other."""

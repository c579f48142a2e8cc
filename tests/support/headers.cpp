// Nothing here: a target needs a source for its precompiled headers to be made.

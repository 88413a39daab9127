// Has nothing of its own: it is compiled so that the precompiled headers have an owner.

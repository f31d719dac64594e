"""One file per thing a person does. The story, once, in order; files and clock arrive as ports."""

"""The pages: phone first, server-rendered, working with no script."""

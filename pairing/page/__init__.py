"""The page on this machine: build, hear and change a class by hand. It shows what the commands' functions do."""

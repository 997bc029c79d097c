"""Whatever is given from outside is taken or refused in a sentence: bytes drawn by what code they
reach, for as long as one likes (`make fuzz`). A case that was not taken is kept in `kept`, by the
name of its target, and every test run tries it again."""

"""Who is here, and whose house it is.

Three ways in, by how Halfbay is run (see `remodel.settings`):

    local         the machine that serves is the household; nobody signs in, everybody owns every
                  house
    home network  a device is paired once by a six-digit code, then says who holds it
    hosted        sign-in by e-mail and password; a house is shared by an invitation link

Limits when hosted. Ten wrong passwords for one account in fifteen minutes, or thirty from one
address, and the sign-in waits, at most those fifteen minutes. A try made while waiting does not
count, and a browser that signed in before has a count of its own, so that nobody can be kept out by
another's wrong tries. A session ends after two weeks without a visit, sixty days after its sign-in,
at sign-out, and when the password is changed elsewhere.

There is no second factor: a board plan and a shopping list of one family are behind the password,
no money moves and nothing is bought from here. Who wants one puts Halfbay behind a proxy that asks
for it."""

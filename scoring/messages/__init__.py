"""E-mail messages: who gets one, what it says, and that it is sent once.

``due`` finds who is to get what and puts it into the outbox; ``outbox`` keeps rows from
being made or taken twice; ``contents`` finds the words when a row is sent; ``letters``
makes an e-mail of them; ``sending`` sends it.
"""

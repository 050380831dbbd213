"""Encryption of backups by the age format (age-encryption.org/v1): Mastbook needs the public key only, so it cannot read its backups."""

import pyrage

__all__ = ["KeyFault", "backup_decrypt", "backup_encrypt", "is_encrypted", "key_pair", "public_key", "secret_keys"]

_BEGINNING = b"age-encryption.org/v1\n"


class KeyFault(ValueError):
    """Something is not a key, or not the one this backup was encrypted for."""


def key_pair():
    """(secret key, public key) as text, new ones."""
    identity = pyrage.x25519.Identity.generate()
    return str(identity), str(identity.to_public())


def public_key(text):
    try:
        return pyrage.x25519.Recipient.from_str(text.strip())
    except pyrage.RecipientError as error:
        raise KeyFault("This is not a public key of age: it begins with age1. Make a pair with --new-key.") from error


def secret_keys(text):
    """The secret keys of a key file; lines that begin with # are comments."""
    lines = [line.strip() for line in text.splitlines()]
    try:
        keys = [pyrage.x25519.Identity.from_str(line) for line in lines if line and not line.startswith("#")]
    except pyrage.IdentityError as error:
        raise KeyFault("The key file holds something that is not a secret key of age: those begin with AGE-SECRET-KEY-1.") from error
    if not keys:
        raise KeyFault("The key file holds no key.")
    return keys


def is_encrypted(file):
    """Whether an open file is encrypted; it is at its beginning afterwards."""
    beginning = file.read(len(_BEGINNING))
    file.seek(0)
    return beginning == _BEGINNING


def backup_encrypt(plain, encrypted, key):
    pyrage.encrypt_io(plain, encrypted, [key])


def backup_decrypt(encrypted, plain, keys):
    try:
        pyrage.decrypt_io(encrypted, plain, keys)
    except (pyrage.DecryptError, OSError) as error:
        if isinstance(error, OSError) and error.errno is not None:
            raise
        raise KeyFault("The backup cannot be decrypted: the key is another one, or the file is damaged or incomplete.") from error

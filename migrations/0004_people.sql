-- +goose Up

CREATE TABLE users (
    id            bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    workshop_id   bigint NOT NULL REFERENCES workshops ON DELETE CASCADE,
    name          text NOT NULL CONSTRAINT users_name_given CHECK (btrim(name) <> '' AND length(name) <= 60),
    role          text NOT NULL CONSTRAINT users_role_known CHECK (role IN ('owner', 'helper')),
    password_hash text,
    created_at    timestamptz NOT NULL DEFAULT now(),
    removed_at    timestamptz
);
COMMENT ON TABLE users IS 'Who may sign in. An owner sees everything; a helper cuts and sews and sees no money.';
COMMENT ON COLUMN users.password_hash IS 'Argon2id; null until the person has chosen a password.';
COMMENT ON COLUMN users.removed_at IS 'A removed person can no longer sign in, and can be put back.';
CREATE UNIQUE INDEX users_name_once ON users (workshop_id, lower(name)) WHERE removed_at IS NULL;

-- +goose StatementBegin
CREATE FUNCTION keep_an_owner() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    -- The row lock makes two owners who remove each other take turns. A workshop that is
    -- itself being removed is gone by now and needs no owner.
    PERFORM 1 FROM workshops WHERE id = OLD.workshop_id FOR NO KEY UPDATE;
    IF NOT FOUND OR OLD.role <> 'owner' OR OLD.removed_at IS NOT NULL THEN
        RETURN NULL;
    END IF;
    -- Whoever has not chosen a password yet can't sign in, and so doesn't count, unless
    -- nobody has.
    IF NOT EXISTS (SELECT 1 FROM users WHERE workshop_id = OLD.workshop_id AND role = 'owner' AND removed_at IS NULL
        AND (password_hash IS NOT NULL OR OLD.password_hash IS NULL)) THEN
        RAISE EXCEPTION 'the last owner stays' USING ERRCODE = 'check_violation', CONSTRAINT = 'users_keep_an_owner', TABLE = 'users';
    END IF;
    RETURN NULL;
END
$$;
-- +goose StatementEnd
CREATE TRIGGER users_keep_an_owner AFTER UPDATE OF role, removed_at OR DELETE ON users FOR EACH ROW EXECUTE FUNCTION keep_an_owner();

CREATE TABLE invitations (
    user_id    bigint PRIMARY KEY REFERENCES users ON DELETE CASCADE,
    digest     bytea NOT NULL CONSTRAINT invitations_digest_once UNIQUE,
    expires_at timestamptz NOT NULL
);
COMMENT ON TABLE invitations IS 'Links with which a person chooses a password, once.';
COMMENT ON COLUMN invitations.digest IS 'SHA-256 of the word in the link.';

CREATE TABLE sign_ins (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    user_id    bigint NOT NULL REFERENCES users ON DELETE CASCADE,
    device     text NOT NULL DEFAULT '',
    address    text NOT NULL DEFAULT '',
    created_at timestamptz NOT NULL DEFAULT now(),
    seen_at    timestamptz NOT NULL DEFAULT now()
);
COMMENT ON TABLE sign_ins IS 'Where people are signed in; without its row, a session is worth nothing.';
CREATE INDEX sign_ins_by_user ON sign_ins (user_id);

CREATE TABLE sessions (
    token  text PRIMARY KEY,
    data   bytea NOT NULL,
    expiry timestamptz NOT NULL
);
COMMENT ON TABLE sessions IS 'What the server remembers of a browser. token is a digest of the cookie.';
CREATE INDEX sessions_by_expiry ON sessions (expiry);

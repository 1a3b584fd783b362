#!/bin/sh
# Run once by the database's container, on an empty database: the role that owns the tables, and the one that serves.
set -eu
psql --username postgres --set ON_ERROR_STOP=1 \
  --set owner_password="$OWNER_PASSWORD" --set serve_password="$SERVE_PASSWORD" <<'SQL'
create role hooflast_owner login password :'owner_password' nosuperuser nobypassrls;
create role hooflast_serve login password :'serve_password' nosuperuser nobypassrls;
create database hooflast owner hooflast_owner;
SQL

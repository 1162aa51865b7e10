# Not run yet: see README.md.
FROM golang:1.26 AS build
WORKDIR /src
COPY go.mod go.sum ./
RUN go mod download
COPY . .
RUN CGO_ENABLED=0 go build -o /yardwright ./cmd/yardwright

FROM debian:12-slim
RUN useradd --system --create-home yardwright
COPY --from=build /yardwright /usr/local/bin/yardwright
USER yardwright
ENTRYPOINT ["yardwright"]
CMD ["serve"]

module lotbell

go 1.26.0

require (
	github.com/expr-lang/expr v1.17.8
	github.com/go-telegram/bot v1.19.0
	github.com/nicksnyder/go-i18n/v2 v2.7.0
	github.com/pelletier/go-toml/v2 v2.4.3
	github.com/robfig/cron/v3 v3.0.1
	go.etcd.io/bbolt v1.5.0
	golang.org/x/image v0.47.0
	golang.org/x/text v0.44.0
	golang.org/x/time v0.16.0
	pgregory.net/rapid v1.3.0
)

require golang.org/x/sys v0.49.0 // indirect

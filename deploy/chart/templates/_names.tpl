{{- define "evenpeel.labels" -}}
app.kubernetes.io/name: evenpeel
app.kubernetes.io/instance: {{ .Release.Name }}
app.kubernetes.io/version: {{ .Chart.AppVersion | quote }}
{{- end -}}
{{- define "evenpeel.selector" -}}
app.kubernetes.io/name: evenpeel
app.kubernetes.io/instance: {{ .Release.Name }}
{{- end -}}
